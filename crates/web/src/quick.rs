//! The quick trace: what the address tells becomes a page; one more thing told becomes the next address.

use std::sync::Arc;

use site::model::{OutletIx, Site};
use site::quick;
use site::region::Region;
use site::visit::Visit;

use crate::desk::Desk;
use crate::look::causes;
use crate::look::check::{Check, Target, hidden};
use crate::look::entry::{self, Entry, Typed};
use crate::look::first::{First, Said};
use crate::pages::quick::{Asked, Quick};
use crate::pages::site::encoded;

/// So much is told in an address at the most.
const LONGEST: usize = 6000;
/// What the outlet is called where nobody says otherwise, as `Site::assumed` calls it.
const HERE: &str = "outlet";

/// A page, or the address that something told leads to.
pub enum Out {
    /// The page.
    Page(Box<Quick>),
    /// The address.
    Moved(String),
}

/// Answers an address.
pub async fn page(desk: &Arc<Desk>, asked: Asked) -> Out {
    let region = Region::find(&asked.region).unwrap_or(&Region::all()[0]);
    let told = lines(&asked.told);
    let mut not = lines(&asked.not);
    let place = match asked.place.trim() {
        "" => named(&told)
            .into_iter()
            .next()
            .unwrap_or_else(|| HERE.to_owned()),
        place => place.chars().take(80).collect(),
    };
    let new = [asked.cannot.trim(), asked.later.trim()];
    if let Some(key) = new.into_iter().find(|it| !it.is_empty()) {
        not.push(key.to_owned());
        return Out::Moved(address(region, &told, &not));
    }
    let mut beside = Slips::default();
    match more(&asked, region, &place) {
        None => {}
        Some(Ok(line)) => {
            let mut longer = told.clone();
            longer.push(line.clone());
            let length: usize = longer.iter().map(String::len).sum();
            let slips = match length > LONGEST {
                true => Err(vec![
                    "That is more than a quick trace holds; make a site around it.".to_owned(),
                ]),
                false => read(&longer, region).map(drop),
            };
            match slips {
                Ok(()) => return Out::Moved(address(region, &longer, &not)),
                Err(slips) if asked.line.is_empty() => beside.fields = slips,
                Err(slips) => beside.line = (line, slips),
            }
        }
        Some(Err(slip)) if asked.line.is_empty() => beside.fields = vec![slip],
        Some(Err(slip)) => beside.line = (asked.line.clone(), vec![slip]),
    }
    Out::Page(Box::new(
        filled(desk, region, told, not, place, asked.typed, beside).await,
    ))
}

#[derive(Default)]
struct Slips {
    fields: Vec<String>,
    line: (String, Vec<String>),
}

fn lines(text: &str) -> Vec<String> {
    let lines = text.lines().map(str::trim).filter(|it| !it.is_empty());
    lines.take(200).map(str::to_owned).collect()
}

/// One more line, if one is told; it always names its place, so that lines can be read in any company.
fn more(asked: &Asked, region: &Region, place: &str) -> Option<Result<String, String>> {
    let line = asked.line.trim();
    if line.is_empty() {
        let typed = || asked.typed.line(place, &region.words);
        return (!asked.typed.value.is_empty()).then(typed);
    }
    if line.contains("...") && !asked.typed.value.is_empty() {
        return Some(entry::number(&asked.typed.value).map(|it| line.replacen("...", &it, 1)));
    }
    let line = line.replace(['\n', '\r'], " ");
    Some(Ok(match line.contains(':') {
        true => line,
        false => format!("{place}: {line}"),
    }))
}

/// The outlets that lines name, each once.
pub fn named(told: &[String]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for name in told.iter().flat_map(|it| quick::places(it)) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// What lines tell of a site, one after the other.
///
/// # Errors
/// Everything in the first line that is not understood.
pub fn visit_of(told: &[String], site: &Site) -> Result<Visit, Vec<String>> {
    let mut visit = quick::nothing(site);
    for line in told {
        let here = quick::places(line)
            .first()
            .and_then(|it| site.outlet(it))
            .or(site.outlet(HERE));
        let more = quick::more(line, site, &visit, here);
        visit = more.map_err(|it| it.iter().map(ToString::to_string).collect::<Vec<_>>())?;
    }
    Ok(visit)
}

/// The site assumed around what was told, and the visit.
fn read(told: &[String], region: &'static Region) -> Result<(Site, Visit), Vec<String>> {
    let names = named(told);
    let mut site = Site::assumed(
        region,
        &names.iter().map(String::as_str).collect::<Vec<_>>(),
    );
    let visit = visit_of(told, &site)?;
    site.fit_receptacles(&visit);
    Ok((site, visit))
}

fn address(region: &Region, told: &[String], not: &[String]) -> String {
    let mut to = format!(
        "/quick?region={}&told={}",
        encoded(&region.id),
        encoded(&told.join("\n"))
    );
    if !not.is_empty() {
        to.push_str(&format!("&not={}", encoded(&not.join("\n"))));
    }
    to
}

async fn filled(
    desk: &Arc<Desk>,
    region: &'static Region,
    told: Vec<String>,
    not: Vec<String>,
    place: String,
    typed: Typed,
    slips: Slips,
) -> Quick {
    let target = Target {
        action: "/quick".to_owned(),
        method: "get",
        hidden: hidden(&[
            ("region", &region.id),
            ("told", &told.join("\n")),
            ("not", &not.join("\n")),
        ]),
        key: String::new(),
    };
    let mut page = Quick {
        region,
        understood: Vec::new(),
        said: Said::Nothing,
        check: None,
        entry: Entry {
            place,
            receptacle: region.receptacles[0].clone(),
            words: region.words.clone(),
            typed: if slips.fields.is_empty() {
                Typed::default()
            } else {
                typed
            },
            meter: None,
            problems: slips.fields,
            target,
        },
        line: slips.line,
        causes: Vec::new(),
        told,
    };
    if page.told.is_empty() {
        return page;
    }
    let (site, mut visit) = match read(&page.told, region) {
        Ok(both) => both,
        Err(slips) => {
            page.line = (page.told.join("; "), slips);
            return page;
        }
    };
    visit.cannot = not;
    let readings = visit
        .readings
        .iter()
        .map(|it| format!("{}: {}", it.id, trace::words::reading(&site, it)));
    let seen = visit
        .observations
        .iter()
        .map(|it| format!("{}: {}", it.id, trace::words::observation(&site, it)));
    page.understood = readings.chain(seen).collect();
    page.entry.meter = visit.meters.last().map(|it| it.meter.name.clone());
    if let Some(outlet) = site.outlet(&page.entry.place) {
        page.entry.receptacle = region.receptacles[site.outlets[outlet.0].receptacle].clone();
    }
    let here = site.outlet(&page.entry.place);
    match desk
        .answer_line(&region.id, &page.told.join("; "), site.clone(), visit)
        .await
    {
        Err(why) => page.said = Said::Failed(why),
        Ok(answer) => {
            page.said = Said::First(First::of(&answer));
            page.causes = causes::of(&answer);
            page.check = Some(answer.next.as_ref().map(|it| led(it, &site, here)));
        }
    }
    page
}

/// The next check; at an assumed site no other outlet has a page.
fn led(next: &trace::answer::Next, site: &Site, here: Option<OutletIx>) -> Check {
    let mut check = Check::of(next, site, here, |_| String::new());
    check.elsewhere = None;
    check
}
