//! The database: its shape, how an older one becomes a newer one, how it is opened.

use std::path::Path;
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use crate::StoreError;

/// Marks an SQLite file as a book (`AXLW`), so that `file` and others can tell.
pub const APPLICATION_ID: i32 = 0x4158_4C57;

/// The format that is written, in `user_version`: how many of the migrations have been done.
pub const FORMAT: i64 = MIGRATIONS.len() as i64;

/// Each in one transaction, in order; none is ever changed once released, and each sets `needs`
/// to the first version of the program that reads what it makes.
const MIGRATIONS: &[&str] = &["
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
"];

/// How long to wait for a reader's or a checkpoint's short lock.
const PATIENCE: Duration = Duration::from_secs(5);

/// Makes a new, empty database file, which must not be there yet. What goes wrong is told of
/// `named`, which it is to become.
pub fn make(path: &Path, named: &Path) -> Result<Connection, StoreError> {
    let refused = |why| StoreError::database(named, why);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db = Connection::open_with_flags(path, flags).map_err(refused)?;
    // Without a write-ahead log, which would be emptied into the file only on closing, where a full
    // disk is not told: the file would get its name without its content.
    db.pragma_update(None, "synchronous", "EXTRA").map_err(refused)?;
    db.pragma_update(None, "application_id", APPLICATION_ID).map_err(refused)?;
    set_up(&db, false).map_err(refused)?;
    migrate(db, named)
}

/// Opens a book's database for writing and brings it up to the newest format.
pub fn open(path: &Path) -> Result<Connection, StoreError> {
    let refused = |why| StoreError::database(path, why);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db = Connection::open_with_flags(path, flags).map_err(refused)?;
    check(&db, path)?;
    set_up(&db, true).map_err(refused)?;
    migrate(db, path)
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
    let mut wal = path.as_os_str().to_owned();
    wal.push("-wal");
    std::fs::metadata(wal).map_or(true, |found| found.len() == 0)
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

fn migrate(mut db: Connection, path: &Path) -> Result<Connection, StoreError> {
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
    Ok(db)
}
