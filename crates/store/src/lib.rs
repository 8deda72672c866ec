//! The only SQL and the only files of a book.
