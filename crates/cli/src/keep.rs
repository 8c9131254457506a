//! The visit file that a led trace is kept in: every result is on the disk before the next check is shown.
//!
//! It is an ordinary visit file. What a person wrote into it stays as it is; only new tables are added, and keys to
//! `cannot`. A site that was assumed is named `assumed: REGION`, so that it can be assumed again.

use std::io::Write;
use std::path::{Path, PathBuf};

use site::assumed::{AFTER, BEFORE, OTHER_LEG, SAME_LEG};
use site::file::{self, Form};
use site::model::{Origin, Site};
use site::quick::{Counts, written};
use site::region::Region;
use site::visit::{Skill, Visit};
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, value};

use crate::ending::Refusal;
use crate::input;

/// Before the region in the name of an assumed site.
const ASSUMED: &str = "assumed: ";

/// The order in which the keys of a reading or an observation are written.
const ORDER: [&str; 11] = [
    "id",
    "corrects",
    "at",
    "pair",
    "from",
    "to",
    "conductor",
    "value",
    "meter",
    "input",
    "class",
];

/// A kept visit.
pub struct Keep {
    path: PathBuf,
    document: DocumentMut,
    done: Counts,
    n_cannot: usize,
}

impl Keep {
    /// A new file for a visit that begins; what it holds already is written at once.
    pub fn begin(
        path: &Path,
        site: &Site,
        visit: &Visit,
        today: jiff::civil::Date,
    ) -> Result<Keep, Refusal> {
        let mut document = DocumentMut::new();
        document["format"] = value(1);
        document["site"] = value(match site.origin {
            Origin::Told => site.name.clone(),
            Origin::Assumed => format!("{ASSUMED}{}", site.region.id),
        });
        document["date"] = value(visit.date.unwrap_or(today).to_string());
        let skill = match visit.skill {
            Skill::Anyone => "anyone",
            Skill::Technician => "technician",
            Skill::Electrician => "electrician",
        };
        document["person"]["skill"] = value(skill);
        let mut keep = Keep {
            path: path.to_owned(),
            document,
            done: Counts::default(),
            n_cannot: 0,
        };
        keep.write(site, visit)?;
        Ok(keep)
    }

    /// A file that is there already, with the site and the visit in it. `site` where its site has a file.
    pub fn resume(path: &Path, site: Option<Site>) -> Result<(Keep, Site, Visit), Refusal> {
        let it = input::read(path)?;
        let document: DocumentMut = it.text.parse().unwrap_or_default();
        let site = match site {
            Some(site) => site,
            None => assumed(&document, &it.name)?,
        };
        // its own reader points at what is wrong, syntax included
        let visit = file::read_visit(&it.text, &it.name, Form::Toml, &site)?;
        let keep = Keep {
            path: path.to_owned(),
            document,
            done: Counts::of(&visit),
            n_cannot: visit.cannot.len(),
        };
        Ok((keep, site, visit))
    }

    /// Adds what is new in the visit, and has it on the disk before it returns.
    pub fn write(&mut self, site: &Site, visit: &Visit) -> Result<(), Refusal> {
        let refuse = |why: String| {
            Refusal::plain(format!("{} cannot be written: {why}", self.path.display()))
        };
        let new = toml::to_string(&written(visit, site, self.done))
            .map_err(|it| refuse(it.to_string()))?;
        let new: DocumentMut = new
            .parse()
            .map_err(|it: toml_edit::TomlError| refuse(it.to_string()))?;
        let mut document = self.document.clone();
        for (key, item) in new.iter() {
            let Some(tables) = item.as_array_of_tables() else {
                continue;
            };
            let old = document
                .entry(key)
                .or_insert(Item::ArrayOfTables(ArrayOfTables::new()));
            let Some(old) = old.as_array_of_tables_mut() else {
                return Err(refuse(format!(
                    "{key} is written in another way than [[{key}]] there"
                )));
            };
            for table in tables.iter() {
                // inner tables on the line of their key, so that each reading stays in one piece
                let mut whole = Table::new();
                let mut items: Vec<_> = table.iter().collect();
                items.sort_by_key(|(key, _)| {
                    ORDER.iter().position(|it| it == key).unwrap_or(ORDER.len())
                });
                for (key, item) in items {
                    let item = item.clone().into_value().map_or_else(|it| it, Item::Value);
                    whole.insert(key, item);
                }
                old.push(whole);
            }
        }
        if visit.cannot.len() > self.n_cannot {
            let old = document.entry("cannot").or_insert(value(Array::new()));
            let Some(old) = old.as_array_mut() else {
                return Err(refuse("cannot is no list there".to_owned()));
            };
            for key in &visit.cannot[self.n_cannot..] {
                old.push(key.as_str());
            }
        }
        put(&self.path, &document.to_string()).map_err(|it| refuse(it.to_string()))?;
        (self.document, self.done, self.n_cannot) =
            (document, Counts::of(visit), visit.cannot.len());
        Ok(())
    }
}

/// Writes a file so that there is the old one or the new one at any moment, never half of it.
fn put(path: &Path, text: &str) -> std::io::Result<()> {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".new");
    let new = path.with_file_name(name);
    let mut file = std::fs::File::create(&new)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()?;
    std::fs::rename(&new, path)
}

/// The site that is assumed again around the outlets that a visit file names.
fn assumed(document: &DocumentMut, name: &str) -> Result<Site, Refusal> {
    let told = document.get("site").and_then(Item::as_str).unwrap_or("");
    let Some(region) = told.strip_prefix(ASSUMED) else {
        return Err(Refusal::plain(format!(
            "{name} is a visit to \"{told}\"; give the file of that site with it: wattwright trace --led SITE --keep {name}"
        )));
    };
    let region = input::region(region)?;
    let mut places = Vec::new();
    for (_, item) in document.iter() {
        outlets(item, &mut places);
    }
    Ok(assume(region, &places))
}

/// A site assumed around outlets; the neighbours that are always assumed need no naming.
pub fn assume(region: &'static Region, places: &[String]) -> Site {
    let ours = [BEFORE, AFTER, SAME_LEG, OTHER_LEG];
    let mut named: Vec<&str> = Vec::new();
    for place in places
        .iter()
        .map(String::as_str)
        .filter(|it| !ours.contains(it))
    {
        if !named.contains(&place) {
            named.push(place);
        }
    }
    Site::assumed(region, &named)
}

/// Names of outlets anywhere in a document, written `outlet:NAME` or `outlet:NAME contact`.
fn outlets(item: &Item, places: &mut Vec<String>) {
    if let Some(tables) = item.as_array_of_tables() {
        for (key, item) in tables.iter().flat_map(|it| it.iter()) {
            match item.as_str() {
                Some(words) if matches!(key, "from" | "to" | "conductor") => {
                    places.extend(outlet(words.rsplit_once(' ').map_or(words, |it| it.0)));
                }
                Some(words) => places.extend(outlet(words)),
                None => outlets(item, places),
            }
        }
    } else if let Some(table) = item.as_table_like() {
        for (key, item) in table.iter() {
            places.extend(
                outlet(key)
                    .into_iter()
                    .chain(item.as_str().and_then(outlet)),
            );
            outlets(item, places);
        }
    }
}

fn outlet(words: &str) -> Option<String> {
    words.strip_prefix("outlet:").map(str::to_owned)
}
