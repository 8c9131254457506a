//! What verbs are given: files, regions, skills.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use site::file::{self, Form, SiteDocument};
use site::model::Site;
use site::region::Region;
use site::visit::{Skill, Visit};

use crate::args::{Setting, SkillWord};
use crate::ending::Refusal;

/// A file's text with its name and form.
pub struct Text {
    /// Name as it was given.
    pub name: String,
    /// TOML or JSON.
    pub form: Form,
    /// What is in it.
    pub text: String,
}

/// The bytes of a file, `-` being standard input, and its name; of what is longer only the first `most`.
pub fn bytes(path: &Path, most: u64) -> Result<(String, Vec<u8>), Refusal> {
    let name = path.display().to_string();
    let mut bytes = Vec::new();
    let done = if name == "-" {
        std::io::stdin().lock().take(most).read_to_end(&mut bytes)
    } else {
        File::open(path).and_then(|it| it.take(most).read_to_end(&mut bytes))
    };
    done.map_err(|error| Refusal::plain(format!("{name} cannot be read: {error}")))?;
    Ok((name, bytes))
}

/// Reads a file, `-` being standard input. JSON by its name, or by its first sign.
pub fn read(path: &Path) -> Result<Text, Refusal> {
    let (name, bytes) = bytes(path, u64::MAX)?;
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        Refusal::plain(format!(
            "{name} is not text: the byte at {at} is not UTF-8; save it as UTF-8"
        ))
    })?;
    let is = |ending: &str| {
        path.extension()
            .is_some_and(|it| it.eq_ignore_ascii_case(ending))
    };
    let json = is("json") || (!is("toml") && text.trim_start().starts_with('{'));
    let form = if json { Form::Json } else { Form::Toml };
    Ok(Text { name, form, text })
}

/// Reads a site file.
pub fn site(path: &Path) -> Result<SiteDocument, Refusal> {
    let it = read(path)?;
    Ok(file::read_site(&it.text, &it.name, it.form)?)
}

/// Reads a visit file at a site.
pub fn visit(path: &Path, site: &Site) -> Result<Visit, Refusal> {
    let it = read(path)?;
    Ok(file::read_visit(&it.text, &it.name, it.form, site)?)
}

/// A region by its identifier.
pub fn region(id: &str) -> Result<&'static Region, Refusal> {
    Region::find(id).ok_or_else(|| {
        let known: Vec<&str> = Region::all().iter().map(|it| it.id.as_str()).collect();
        Refusal::plain(format!(
            "there is no region \"{id}\"; write one of {}",
            known.join(", ")
        ))
    })
}

/// What the person may do: as said on the command line, else as the visit says.
pub fn skill(setting: &Setting, visit: &Visit) -> Skill {
    match setting.skill {
        None => visit.skill,
        Some(SkillWord::Anyone) => Skill::Anyone,
        Some(SkillWord::Technician) => Skill::Technician,
        Some(SkillWord::Electrician) => Skill::Electrician,
    }
}
