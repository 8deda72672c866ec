//! The database: its shape, how an older one becomes a newer one, how it is opened.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use crate::{StoreError, files};

/// Marks an SQLite file as a book (`AXLW`), so that `file` and others can tell.
pub const APPLICATION_ID: i32 = 0x4158_4C57;

/// The format that is written, in `user_version`: how many of the migrations have been done.
pub const FORMAT: i64 = MIGRATIONS.len() as i64;

/// Each in one transaction, in order; none is ever changed once released, and each sets `needs`
/// to the first version of the program that reads what it makes.
const MIGRATIONS: &[&str] = &[
    "
    CREATE TABLE entry (
        seq  INTEGER PRIMARY KEY CHECK (0 < seq),
        kind TEXT NOT NULL,
        line TEXT NOT NULL
    ) STRICT;
    CREATE TRIGGER entry_stays BEFORE UPDATE ON entry
        BEGIN SELECT RAISE(ABORT, 'the log only grows'); END;
    CREATE TRIGGER entry_remains BEFORE DELETE ON entry
        BEGIN SELECT RAISE(ABORT, 'the log only grows'); END;
    CREATE TABLE about (
        name  TEXT PRIMARY KEY,
        value TEXT NOT NULL
    ) STRICT, WITHOUT ROWID;
    INSERT INTO about VALUES ('needs', 'axlewright 0.1.0');
",
    "
    ALTER TABLE entry ADD COLUMN once TEXT;
    CREATE INDEX entry_once ON entry (once) WHERE once IS NOT NULL;
",
];

/// What the tables, indexes and triggers of a book look like. The text of a table may be put down
/// otherwise by another version of SQLite once a column was added, so its columns are compared.
const SHAPE: &str = "
    SELECT type, name, tbl_name,
        CASE type WHEN 'table' THEN (
            SELECT group_concat(concat_ws(' ', name, type, \"notnull\", pk, hidden))
            FROM pragma_table_xinfo(thing.name)
        ) ELSE sql END
    FROM sqlite_schema AS thing WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'
    ORDER BY type, name";

/// How long to wait for a reader's or a checkpoint's short lock.
const PATIENCE: Duration = Duration::from_secs(5);

/// Makes a new, empty database file, which must not be there yet. What goes wrong is told of
/// `named`, which it is to become.
pub fn make(path: &Path, named: &Path) -> Result<Connection, StoreError> {
    let refused = |why| StoreError::database(named, why);
    // SQLite takes an empty file for a new database and leaves it to whom it belongs; what it puts
    // beside it has the same rights.
    files::make_file(path).map_err(|why| StoreError::system("make", named, why))?;
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut db = Connection::open_with_flags(path, flags).map_err(refused)?;
    // Without a write-ahead log, which would be emptied into the file only on closing, where a full
    // disk is not told: the file would get its name without its content.
    db.pragma_update(None, "synchronous", "EXTRA").map_err(refused)?;
    db.pragma_update(None, "application_id", APPLICATION_ID).map_err(refused)?;
    set_up(&db, false).map_err(refused)?;
    migrate(&mut db, named)?;
    Ok(db)
}

/// Opens a book's database for writing. Nothing in it is touched until [`take_up`] has been called,
/// and what waits in the write-ahead log stays there: a book that is damaged is left as it is.
pub fn open(path: &Path) -> Result<Connection, StoreError> {
    let refused = |why| StoreError::database(path, why);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db = Connection::open_with_flags(path, flags).map_err(refused)?;
    keep_log_on_close(&db, true).map_err(refused)?;
    check(&db, path)?;
    set_up(&db, false).map_err(refused)?;
    Ok(db)
}

/// Makes an opened database ready to be written to, and brings it up to the newest format.
pub fn take_up(db: &mut Connection, path: &Path) -> Result<(), StoreError> {
    let refused = |why| StoreError::database(path, why);
    set_up(db, true).map_err(refused)?;
    keep_log_on_close(db, false).map_err(refused)?;
    // The write-ahead log is folded in by ourselves, so that `book.head` lasts before it.
    db.pragma_update(None, "wal_autocheckpoint", 0).map_err(refused)?;
    migrate(db, path)
}

/// Whether closing the last connection leaves the write-ahead log as it is.
fn keep_log_on_close(db: &Connection, keep: bool) -> rusqlite::Result<()> {
    db.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, keep).map(drop)
}

/// Folds the write-ahead log into the database and empties it; true when all of it is. A reader in
/// the middle of something is not waited for longer than `patience`.
pub fn fold(db: &Connection, patience: Duration) -> rusqlite::Result<bool> {
    db.busy_timeout(patience)?;
    let folded = db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get::<_, i64>(0));
    db.busy_timeout(PATIENCE)?;
    Ok(folded? == 0)
}

/// The write-ahead log of a database.
pub fn wal_of(path: &Path) -> PathBuf {
    let mut wal = path.as_os_str().to_owned();
    wal.push("-wal");
    wal.into()
}

/// Opens a book's database for reading.
pub fn open_reader(path: &Path) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let reader = |path: &Path, flags| {
        let db = Connection::open_with_flags(path, flags)
            .map_err(|why| StoreError::database(path, why))?;
        check(&db, path)?;
        set_up(&db, false).map_err(|why| StoreError::database(path, why))?;
        Ok(db)
    };
    match reader(path, flags) {
        // A reader too needs a small file beside the database. Where none can be written, and
        // nothing waits in the write-ahead log, the database can be taken as it stands.
        Err(StoreError::ReadOnly { .. } | StoreError::Database { .. }) if nothing_waits(path) => {
            let name = format!("file:{}?immutable=1", in_uri(path));
            reader(Path::new(&name), flags | OpenFlags::SQLITE_OPEN_URI)
        }
        opened => opened,
    }
}

fn nothing_waits(path: &Path) -> bool {
    std::fs::metadata(wal_of(path)).map_or(true, |found| found.len() == 0)
}

fn in_uri(path: &Path) -> String {
    path.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23")
}

fn check(db: &Connection, path: &Path) -> Result<(), StoreError> {
    let refused = |why| StoreError::database(path, why);
    db.busy_timeout(PATIENCE).map_err(refused)?;
    let number = |name: &str| db.pragma_query_value(None, name, |row| row.get::<_, i64>(0));
    let id = number("application_id").map_err(refused)?;
    let found = number("user_version").map_err(refused)?;
    if id != i64::from(APPLICATION_ID) || found < 1 {
        return Err(StoreError::NotABook { path: path.to_owned() });
    }
    if FORMAT < found {
        let needs =
            db.query_row("SELECT value FROM about WHERE name = 'needs'", [], |row| row.get(0)).ok();
        return Err(StoreError::Newer { path: path.to_owned(), found, needs });
    }
    Ok(())
}

/// Refuses a database with other tables, indexes or triggers than a book's: a trigger could swallow
/// what is written, and nobody would notice.
pub fn check_shape(db: &Connection, path: &Path) -> Result<(), StoreError> {
    let refused = |why| StoreError::database(path, why);
    let known = || -> rusqlite::Result<Shape> {
        let format = db.pragma_query_value(None, "user_version", |row| row.get::<_, i64>(0))?;
        let model = Connection::open_in_memory()?;
        for sql in MIGRATIONS.iter().take(usize::try_from(format).unwrap_or(0)) {
            model.execute_batch(sql)?;
        }
        shape(&model)
    };
    let (found, known) = (shape(db).map_err(refused)?, known().map_err(refused)?);
    let odd = found.iter().find(|one| !known.contains(one));
    let gone = known.iter().find(|one| !found.contains(one));
    let what = match (odd, gone) {
        (None, None) => return Ok(()),
        (Some([kind, name, ..]), _) => {
            format!("the {kind} `{}` in it is not as in a book", cut(name))
        }
        (None, Some([kind, name, ..])) => format!("the {kind} `{name}` is missing in it"),
    };
    Err(StoreError::Corrupt { path: path.to_owned(), what })
}

/// Kind, name, table and particulars of everything in a database.
type Shape = Vec<[String; 4]>;

fn shape(db: &Connection) -> rusqlite::Result<Shape> {
    let mut select = db.prepare(SHAPE)?;
    let text = |row: &rusqlite::Row<'_>, at| {
        row.get::<_, Option<String>>(at).map(Option::unwrap_or_default)
    };
    let rows = select
        .query_map([], |row| Ok([text(row, 0)?, text(row, 1)?, text(row, 2)?, text(row, 3)?]))?;
    rows.collect()
}

/// The first letters of a name that may be anything.
fn cut(name: &str) -> String {
    name.chars().filter(|letter| !letter.is_control()).take(40).collect()
}

fn set_up(db: &Connection, writer: bool) -> rusqlite::Result<()> {
    db.busy_timeout(PATIENCE)?;
    if writer {
        db.pragma_update(None, "journal_mode", "WAL")?;
        // Every commit is on the disk before it is acknowledged.
        db.pragma_update(None, "synchronous", "FULL")?;
    }
    // A damaged or hostile file may do no more than be refused.
    db.pragma_update(None, "trusted_schema", false)?;
    db.pragma_update(None, "cell_size_check", true)
}

fn migrate(db: &mut Connection, path: &Path) -> Result<(), StoreError> {
    let refused = |why| StoreError::database(path, why);
    let done =
        db.pragma_query_value(None, "user_version", |row| row.get::<_, i64>(0)).map_err(refused)?;
    let done = usize::try_from(done).unwrap_or(0);
    for (number, sql) in MIGRATIONS.iter().enumerate().skip(done) {
        let step = db.transaction_with_behavior(TransactionBehavior::Immediate).map_err(refused)?;
        step.execute_batch(sql).map_err(refused)?;
        step.pragma_update(None, "user_version", number as i64 + 1).map_err(refused)?;
        step.commit().map_err(refused)?;
    }
    Ok(())
}
