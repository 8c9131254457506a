//! The store in one SQLite file: the only part that has heard of a database.
//!
//! One connection writes, always with BEGIN IMMEDIATE; others only read. A second backend gives the same functions on
//! its own `Tx`, and `Store` an enum of the two; nothing above changes.

mod ask;
mod file;
mod rows;
mod sql;

use std::path::{Path, PathBuf};
use std::time::Duration;

use sqlx::sqlite::{
    SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{Connection, Sqlite, Transaction};

use crate::error::StoreError;
pub(crate) use file::{backup_folder, backups, folder_of, has_log, newest_backup, sync_folder};
pub(crate) use rows::{At, AttachmentRow, DeviceRow, EntryRow, SiteRow, TextRow, VisitRow};

/// Up to this size a file is checked whole when it is opened: some 0.1 s. Larger ones by [`crate::Store::check`].
const CHECKED_AT_OPENING: u64 = 32 << 20;

/// The two pools.
#[derive(Clone)]
pub(crate) struct Lite {
    path: PathBuf,
    write: SqlitePool,
    read: SqlitePool,
}

/// All or nothing; what was not committed is forgotten.
pub(crate) struct Tx<'s> {
    inner: Transaction<'static, Sqlite>,
    lite: &'s Lite,
    writes: bool,
}

fn options(path: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(path)
        .foreign_keys(true)
        .synchronous(SqliteSynchronous::Full)
        .busy_timeout(Duration::from_secs(5))
        // rows come from a thread of their own, which is woken each time that these were taken
        .row_buffer_size(4096)
}

fn writing(path: &Path) -> SqliteConnectOptions {
    options(path).journal_mode(SqliteJournalMode::Wal)
}

async fn pool(
    options: SqliteConnectOptions,
    connections: u32,
    path: &Path,
) -> Result<SqlitePool, StoreError> {
    // On a full disk SQLite ends a transaction by itself, of which sqlx does not hear: such a connection is not used again.
    let pool = SqlitePoolOptions::new()
        .max_connections(connections)
        .after_release(|connection, _| {
            Box::pin(async move {
                connection.ping().await?; // behind a rollback that is still on its way
                Ok(!connection.is_in_transaction())
            })
        });
    let opened = pool.connect_with(options).await;
    opened.map_err(|it| told(path, it))
}

impl Lite {
    /// Opens the file, or makes a new one where there is none. What is not a sound store is left as it is.
    pub async fn open(path: &Path) -> Result<Lite, StoreError> {
        if !file::is_store(path)? {
            file::create(path).await?;
        }
        let size = std::fs::metadata(path).map_or(0, |it| it.len());
        let read = pool(options(path).read_only(true), 4, path).await?;
        if size <= CHECKED_AT_OPENING {
            check(&read, path).await?;
        }
        let write = pool(writing(path), 1, path).await?;
        file::migrate(&write, path).await?;
        Ok(Lite {
            path: path.to_owned(),
            write,
            read,
        })
    }

    /// Whether the file is too large to be checked whole when it is opened.
    pub fn is_large(&self) -> bool {
        std::fs::metadata(&self.path).map_or(0, |it| it.len()) > CHECKED_AT_OPENING
    }

    /// Reads the whole file and says what is broken in it.
    pub async fn check(&self) -> Result<(), StoreError> {
        check(&self.read, &self.path).await
    }

    pub fn path(&self) -> &Path {
        &self.path
    }

    /// One moment of the store, however many questions are asked.
    pub async fn reading(&self) -> Result<Tx<'_>, StoreError> {
        self.tx(self.read.begin().await, false)
    }

    pub async fn writing(&self) -> Result<Tx<'_>, StoreError> {
        self.tx(self.write.begin_with("BEGIN IMMEDIATE").await, true)
    }

    fn tx(
        &self,
        begun: Result<Transaction<'static, Sqlite>, sqlx::Error>,
        writes: bool,
    ) -> Result<Tx<'_>, StoreError> {
        let inner = begun.map_err(|it| told(&self.path, it))?;
        Ok(Tx {
            inner,
            lite: self,
            writes,
        })
    }

    /// Everything committed so far, as a new file of its own; an error where there is one already.
    pub async fn copy_into(&self, to: &Path) -> Result<(), StoreError> {
        let done = sqlx::query("VACUUM INTO $1").bind(to.to_string_lossy().into_owned());
        let done = done.execute(&self.read).await;
        done.map(drop).map_err(|it| told(to, it))
    }

    pub async fn close(&self) {
        self.read.close().await;
        self.write.close().await; // the last one empties the log into the file
    }
}

impl Tx<'_> {
    /// Whether it changes anything, which may yet be taken back.
    pub fn writes(&self) -> bool {
        self.writes
    }

    pub async fn commit(self) -> Result<(), StoreError> {
        let done = self.inner.commit().await;
        done.map_err(|it| told(&self.lite.path, it))
    }

    fn told(&self, error: sqlx::Error) -> StoreError {
        told(&self.lite.path, error)
    }

    /// What was read is not what was written.
    fn broken(&self, what: impl ToString) -> StoreError {
        damaged(&self.lite.path, what)
    }
}

/// Reads all of a file that is opened for nothing but this.
pub(crate) async fn check_file(path: &Path) -> Result<(), StoreError> {
    if !file::is_store(path)? {
        return Err(StoreError::unknown("file", path.display()));
    }
    let read = pool(options(path).read_only(true), 1, path).await?;
    let sound = check(&read, path).await;
    read.close().await;
    sound
}

async fn check(read: &SqlitePool, path: &Path) -> Result<(), StoreError> {
    let said = sqlx::query_scalar::<_, String>(sql::CHECK).fetch_one(read);
    match said.await.map_err(|it| told(path, it))? {
        said if said == "ok" => Ok(()),
        said => Err(damaged(path, said.lines().next().unwrap_or_default())),
    }
}

fn damaged(path: &Path, what: impl ToString) -> StoreError {
    StoreError::Damaged {
        path: path.to_owned(),
        backup: newest_backup(path),
        what: what.to_string(),
    }
}

/// What a primary result code of SQLite (<https://www.sqlite.org/rescode.html>) means to a person.
fn told(path: &Path, error: sqlx::Error) -> StoreError {
    let code = error
        .as_database_error()
        .and_then(|it| it.code()?.parse::<i32>().ok());
    let why = error.to_string();
    let path = path.to_owned();
    match code.map(|it| it & 0xff) {
        Some(13) => StoreError::Full { path },
        Some(5 | 6) => StoreError::Busy { path },
        Some(11 | 26) => damaged(&path, why),
        Some(3 | 8 | 10 | 14 | 23) => StoreError::Unreachable { path, why },
        _ => match error {
            sqlx::Error::PoolTimedOut => StoreError::Busy { path },
            sqlx::Error::ColumnDecode { .. } | sqlx::Error::Decode(_) => damaged(&path, why),
            _ => StoreError::Database { path, why },
        },
    }
}
