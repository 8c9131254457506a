//! A folder or an archive of files, written once and read by name.

use std::collections::HashSet;
use std::fs::File;
use std::io::{Read, Write};
use std::path::{Component, Path, PathBuf};

use zip::result::ZipError;
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use super::manifest::refuse;
use crate::error::StoreError;

/// No document has more bytes than this: twenty times the largest we know.
const LARGEST_TEXT: usize = 64 << 20;

/// As what files are handed over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Package {
    /// A folder of files.
    Folder,
    /// One ZIP archive.
    Archive,
}

pub(super) struct Target {
    path: PathBuf,
    /// Where it is written until it is whole.
    part: PathBuf,
    archive: Option<ZipWriter<File>>,
    put: HashSet<String>,
}

impl Target {
    pub fn new(package: Package, path: &Path) -> Result<Target, StoreError> {
        let mut name = path.file_name().unwrap_or_default().to_owned();
        name.push(".part");
        let part = path.with_file_name(name);
        // nothing is removed here that was not made here
        if let Some(there) = [path, &part].into_iter().find(|it| it.exists()) {
            return Err(StoreError::exists("file", there.display()));
        }
        let of_file = |it| StoreError::of_file(&part, it);
        let archive = match package {
            Package::Folder => {
                std::fs::create_dir_all(&part).map_err(of_file)?;
                None
            }
            Package::Archive => Some(ZipWriter::new(File::create(&part).map_err(of_file)?)),
        };
        Ok(Target {
            path: path.to_owned(),
            part,
            archive,
            put: HashSet::new(),
        })
    }

    pub fn put(&mut self, name: &str, bytes: &[u8]) -> Result<(), StoreError> {
        let written = match &mut self.archive {
            Some(archive) => archive
                .start_file(name, SimpleFileOptions::default())
                .map_err(std::io::Error::from)
                .and_then(|()| archive.write_all(bytes)),
            None => {
                let file = self.part.join(name);
                let folder = file.parent().unwrap_or(&self.part);
                std::fs::create_dir_all(folder).and_then(|()| {
                    let mut file = File::create(&file)?;
                    file.write_all(bytes)?;
                    file.sync_all()
                })
            }
        };
        self.put.insert(name.to_owned());
        written.map_err(|it| StoreError::of_file(&self.path, it))
    }

    /// The same content may belong to several places.
    pub fn put_once(&mut self, name: &str, bytes: &[u8]) -> Result<(), StoreError> {
        match self.put.contains(name) {
            true => Ok(()),
            false => self.put(name, bytes),
        }
    }

    /// Gives it its name, when all of it is on the disk.
    pub fn finish(self) -> Result<(), StoreError> {
        let written = match self.archive {
            Some(archive) => archive
                .finish()
                .map_err(std::io::Error::from)
                .and_then(|file| file.sync_all()),
            None => Ok(()),
        };
        let named = written.and_then(|()| std::fs::rename(&self.part, &self.path));
        named.map_err(|it| StoreError::of_file(&self.path, it))
    }

    pub fn discard(self) {
        let _ = match self.archive {
            Some(_) => std::fs::remove_file(&self.part),
            None => std::fs::remove_dir_all(&self.part),
        };
    }
}

pub(super) enum Source {
    Folder(PathBuf),
    Archive(Box<ZipArchive<File>>),
}

impl Source {
    pub fn open(path: &Path) -> Result<Source, StoreError> {
        if path.is_dir() {
            return Ok(Source::Folder(path.to_owned()));
        }
        let file = File::open(path).map_err(|it| StoreError::of_file(path, it))?;
        let name = path.display().to_string();
        let archive = ZipArchive::new(file);
        archive
            .map(|it| Source::Archive(Box::new(it)))
            .map_err(|it| refuse(&name, format!("it is no archive that can be read ({it})")))
    }

    pub fn text(&mut self, name: &str) -> Result<String, StoreError> {
        let bytes = self.bytes(name, LARGEST_TEXT)?;
        String::from_utf8(bytes).map_err(|_| refuse(name, "it is not UTF-8"))
    }

    /// A file, if it is not larger than it may be, whatever its header says.
    pub fn bytes(&mut self, name: &str, largest: usize) -> Result<Vec<u8>, StoreError> {
        let inside = Path::new(name)
            .components()
            .all(|it| matches!(it, Component::Normal(_)));
        if !inside {
            return Err(refuse(name, "it is not in the export"));
        }
        let mut bytes = Vec::new();
        let limit = largest as u64 + 1;
        let read = match self {
            Source::Folder(folder) => {
                File::open(folder.join(name)).and_then(|it| it.take(limit).read_to_end(&mut bytes))
            }
            Source::Archive(archive) => match archive.by_name(name) {
                Ok(it) => it.take(limit).read_to_end(&mut bytes),
                Err(ZipError::FileNotFound) => Err(std::io::ErrorKind::NotFound.into()),
                Err(other) => Err(other.into()),
            },
        };
        match read {
            Err(it) if it.kind() == std::io::ErrorKind::NotFound => {
                Err(refuse(name, "the file is missing"))
            }
            Err(it) => Err(refuse(name, format!("it cannot be read ({it})"))),
            Ok(_) if bytes.len() > largest => {
                Err(refuse(name, format!("it has more than {largest} bytes")))
            }
            Ok(_) => Ok(bytes),
        }
    }
}
