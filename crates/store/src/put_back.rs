//! A backup put in the place of a store that nobody has open; what stood there stays, under another name.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use crate::error::StoreError;
use crate::lite::{self, sync_folder};
use crate::store::Store;

/// What SQLite keeps beside a file: <https://www.sqlite.org/tempfiles.html>. The log has changes that are not in it yet.
const BESIDE: [&str; 2] = ["-shm", "-wal"];

impl Store {
    /// The backups of a store, the newest first.
    pub fn backups(store: &Path) -> Vec<PathBuf> {
        lite::backups(store)
    }

    /// Puts a backup where a store is, which nobody may have open, and says under which name the old one stands now.
    /// Nothing is written over or removed; where it does not end well, the old one is where it was.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] where the backup itself is broken.
    pub async fn put_back(
        backup: &Path,
        store: &Path,
        now: Timestamp,
    ) -> Result<PathBuf, StoreError> {
        let kept = free_name(store, now);
        // first beside it under a name of its own: checked, copied and on the disk before anything is moved
        let new = kept.with_extension("restored");
        Store::restore(backup, &new).await?;
        let done = exchanged(store, &kept, &new);
        if done.is_err() {
            let _ = fs::remove_file(&new); // a copy of the backup
        }
        done?;
        sync_folder(lite::folder_of(store))?;
        Ok(kept)
    }
}

/// The old file under the name `kept`, the new one in its place; or everything as it was.
fn exchanged(store: &Path, kept: &Path, new: &Path) -> Result<(), StoreError> {
    // what is beside it goes first: the new one must never find the log of the old
    let mut done = Vec::new();
    let moved = BESIDE
        .iter()
        .map(|ending| (with(store, ending), with(kept, ending)))
        .filter(|(one, _)| one.exists())
        .try_for_each(|(one, other)| {
            fs::rename(&one, &other).map_err(|it| StoreError::of_file(&one, it))?;
            done.push((one, other));
            Ok(())
        })
        .and_then(|()| replaced(store, kept, new).map_err(|it| StoreError::of_file(store, it)));
    if moved.is_err() {
        for (one, other) in done.iter().rev() {
            let _ = fs::rename(other, one); // the first error is the one to tell
        }
    }
    moved
}

/// By a second name for the old file, so that there is no moment without one; where a file system has no second names, by
/// moving it.
fn replaced(store: &Path, kept: &Path, new: &Path) -> std::io::Result<()> {
    if !store.exists() {
        return fs::rename(new, store); // only its log was left
    }
    if fs::hard_link(store, kept).is_ok() {
        return fs::rename(new, store).inspect_err(|_| {
            let _ = fs::remove_file(kept); // only the second name
        });
    }
    fs::rename(store, kept)?;
    fs::rename(new, store).inspect_err(|_| {
        let _ = fs::rename(kept, store); // the first error is the one to tell
    })
}

fn with(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(ending);
    path.with_file_name(name)
}

/// `wattwright-replaced-2026-03-14T09-12-00Z.db`, or with a number behind it where there is one.
fn free_name(store: &Path, now: Timestamp) -> PathBuf {
    let stem = store.file_stem().unwrap_or_default().to_string_lossy();
    let at = now.strftime("%Y-%m-%dT%H-%M-%SZ");
    let named = |n: u32| {
        let more = if n == 0 {
            String::new()
        } else {
            format!("-{n}")
        };
        store.with_file_name(format!("{stem}-replaced-{at}{more}.db"))
    };
    let taken = |it: &PathBuf| {
        it.exists()
            || BESIDE.iter().any(|ending| with(it, ending).exists())
            || it.with_extension("restored").exists()
    };
    (0..)
        .map(named)
        .find(|it| !taken(it))
        .unwrap_or_else(|| named(0))
}
