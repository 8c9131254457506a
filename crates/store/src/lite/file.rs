//! The file itself: is it ours, how a new one is made, where its backups are.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

use sqlx::SqlitePool;
use sqlx::migrate::{MigrateError, Migrator};

use super::{damaged, pool, told, writing};
use crate::error::StoreError;

static MIGRATIONS: Migrator = sqlx::migrate!("migrations/sqlite");

/// What a file of SQLite begins with, and where the number of the program that it belongs to stands:
/// <https://www.sqlite.org/fileformat2.html#the_database_header>.
const MAGIC: &[u8; 16] = b"SQLite format 3\0";
const OWNER: std::ops::Range<usize> = 68..72;
const OURS: &[u8; 4] = b"WWST";

/// Whether the file is there; an error where it is there and not a store.
pub(super) fn is_store(path: &Path) -> Result<bool, StoreError> {
    let mut head = Vec::new();
    let read = File::open(path).and_then(|it| it.take(100).read_to_end(&mut head));
    match read {
        Err(it) if it.kind() == ErrorKind::NotFound => {
            // a new store beside the log of another would take its changes for its own
            return match has_log(path) {
                false => Ok(false),
                true => Err(damaged(
                    path,
                    "the file is gone, and its log is left (-wal)",
                )),
            };
        }
        Err(it) => return Err(StoreError::of_file(path, it)),
        Ok(_) => {}
    }
    let is_sqlite = head.starts_with(MAGIC);
    match head.get(OWNER) {
        Some(owner) if is_sqlite && owner == OURS => Ok(true),
        Some(_) if is_sqlite => Err(StoreError::Foreign {
            path: path.to_owned(),
            backup: newest_backup(path),
        }),
        // a store whose first bytes are gone looks like any other file, and is not written to either
        _ => Err(damaged(
            path,
            "it does not begin as a store does (broken, or another kind of file)",
        )),
    }
}

/// A new store: made whole under another name first, so that an empty file is never mistaken for one.
pub(super) async fn create(path: &Path) -> Result<(), StoreError> {
    let folder = folder_of(path);
    std::fs::create_dir_all(folder).map_err(|it| StoreError::of_file(folder, it))?;
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{}.new", std::process::id()));
    let new = path.with_file_name(name);
    let _ = std::fs::remove_file(&new); // what a start that was cut off has left
    let made = make(&new, path).await;
    let _ = std::fs::remove_file(&new);
    made?;
    sync_folder(folder)
}

async fn make(new: &Path, path: &Path) -> Result<(), StoreError> {
    let write = pool(writing(new).create_if_missing(true), 1, new).await?;
    let made = migrate(&write, new).await;
    write.close().await;
    made?;
    match std::fs::hard_link(new, path) {
        Ok(()) => Ok(()),
        Err(it) if it.kind() == ErrorKind::AlreadyExists => Ok(()), // another start was quicker
        // a file system without links
        Err(_) => std::fs::rename(new, path).map_err(|it| StoreError::of_file(path, it)),
    }
}

/// Brings the structure up to date; a newer one is refused.
pub(super) async fn migrate(write: &SqlitePool, path: &Path) -> Result<(), StoreError> {
    let known = MIGRATIONS.iter().map(|it| it.version).max().unwrap_or(0);
    MIGRATIONS.run(write).await.map_err(|error| match error {
        MigrateError::VersionMissing(found) => StoreError::Newer {
            path: path.to_owned(),
            found,
            known,
        },
        // steps are never edited, so it is the file that has changed
        MigrateError::VersionMismatch(_) => damaged(path, error),
        MigrateError::Execute(it) | MigrateError::ExecuteMigration(it, _) => told(path, it),
        other => StoreError::Database {
            path: path.to_owned(),
            why: other.to_string(),
        },
    })
}

/// Whether there are changes beside a file that are not in it yet: <https://www.sqlite.org/walformat.html>.
pub(crate) fn has_log(store: &Path) -> bool {
    let mut name = store.file_name().unwrap_or_default().to_owned();
    name.push("-wal");
    std::fs::metadata(store.with_file_name(name)).is_ok_and(|it| it.len() > 0)
}

/// The folder that a file is in.
pub(crate) fn folder_of(file: &Path) -> &Path {
    let folder = file.parent().filter(|it| !it.as_os_str().is_empty());
    folder.unwrap_or(Path::new("."))
}

/// The folder beside a store that its backups go to.
pub(crate) fn backup_folder(store: &Path) -> PathBuf {
    store.with_file_name("backups")
}

/// The newest backup of a store, by the date in its name.
pub(crate) fn newest_backup(store: &Path) -> Option<PathBuf> {
    backups(store).into_iter().next()
}

/// The backups of a store, the newest first, by the date in their names.
pub(crate) fn backups(store: &Path) -> Vec<PathBuf> {
    let stem = store.file_stem().unwrap_or_default().to_string_lossy();
    let Ok(files) = std::fs::read_dir(backup_folder(store)) else {
        return Vec::new();
    };
    let names = files.filter_map(|it| Some(it.ok()?.path()));
    let ours = names.filter(|it| {
        let name = it.file_name().unwrap_or_default().to_string_lossy();
        let rest = name
            .strip_prefix(stem.as_ref())
            .and_then(|it| it.strip_prefix('-'));
        rest.is_some_and(|it| it.starts_with(|it: char| it.is_ascii_digit()) && it.ends_with(".db"))
    });
    let mut all: Vec<PathBuf> = ours.collect();
    all.sort_unstable_by(|a, b| b.cmp(a));
    all
}

/// A new name is kept only when its folder is.
pub(crate) fn sync_folder(folder: &Path) -> Result<(), StoreError> {
    #[cfg(unix)]
    {
        let synced = File::open(folder).and_then(|it| it.sync_all());
        synced.map_err(|it| StoreError::of_file(folder, it))?;
    }
    let _ = folder;
    Ok(())
}
