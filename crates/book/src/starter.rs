//! The file a restorer begins with.

/// The commented car file with every value blank.
pub fn starter() -> String {
    String::from("format = 1\n")
}
