//! Backups: the whole store as another file, and back.

use std::fs::File;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use crate::error::StoreError;
use crate::lite::{self, sync_folder};
use crate::store::Store;

impl Store {
    /// The folder beside a store that its backups go to when nobody says otherwise.
    pub fn backup_folder(store: &Path) -> PathBuf {
        lite::backup_folder(store)
    }

    /// The newest backup in that folder.
    pub fn newest_backup(store: &Path) -> Option<PathBuf> {
        lite::newest_backup(store)
    }

    /// Everything kept so far as one file with the date in its name. It has its name only when it is whole and was
    /// checked, so that whatever looks like a backup is one.
    pub async fn backup(&self, folder: &Path, now: Timestamp) -> Result<PathBuf, StoreError> {
        std::fs::create_dir_all(folder).map_err(|it| StoreError::of_file(folder, it))?;
        let stem = self
            .path()
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy();
        let at = now.strftime("%Y-%m-%dT%H-%M-%SZ");
        let backup = folder.join(format!("{stem}-{at}.db"));
        if backup.exists() {
            return Err(StoreError::exists("file", backup.display()));
        }
        let part = backup.with_extension("part");
        let _ = std::fs::remove_file(&part); // of a backup that was cut off
        let copied = self.copy_to(&part).await;
        let named = copied.and_then(|()| named(&part, &backup));
        if named.is_err() {
            let _ = std::fs::remove_file(&part);
        }
        named.map(|()| backup)
    }

    async fn copy_to(&self, part: &Path) -> Result<(), StoreError> {
        self.lite.copy_into(part).await?;
        lite::check_file(part).await
    }

    /// Makes a store out of a backup, at a path where there is none.
    ///
    /// # Errors
    /// [`StoreError::Exists`] where there is a file; [`StoreError::Damaged`] where the backup itself is broken.
    pub async fn restore(backup: &Path, to: &Path) -> Result<(), StoreError> {
        lite::check_file(backup).await?;
        if to.exists() || lite::has_log(to) {
            return Err(StoreError::exists("file (or its log, -wal)", to.display()));
        }
        let folder = lite::folder_of(to);
        std::fs::create_dir_all(folder).map_err(|it| StoreError::of_file(folder, it))?;
        let part = to.with_extension("part");
        let copied = std::fs::copy(backup, &part).map_err(|it| StoreError::of_file(to, it));
        let named = copied.and_then(|_| named(&part, to));
        let _ = std::fs::remove_file(&part);
        named
    }
}

/// Gives a file its name when it is on the disk.
fn named(part: &Path, name: &Path) -> Result<(), StoreError> {
    let synced = File::options()
        .write(true)
        .open(part)
        .and_then(|it| it.sync_all());
    let named = synced.and_then(|()| std::fs::rename(part, name));
    named.map_err(|it| StoreError::of_file(name, it))?;
    sync_folder(lite::folder_of(name))
}
