//! What the pages are tried with: answers made by hand, the invented demo, 500 outlets, names that try to break out.

use site::file::written::SiteFile;
use site::file::{Form, SiteDocument, read_site, read_visit};
use site::finding::{Action, Use, Verdict, When, Who};
use site::region::Region;
use site::visit::Visit;
use trace::answer::{
    Answer, Danger, Evidence as Told, FORMAT, FaultAt, Group, Member, Next, Outcome, Work,
};

use super::evidence::Evidence;
use super::file::FilePage;
use super::place::{Open, PlacePage, Row};
use super::quick::Quick;
use super::site::{SitePage, Worst};
use super::visit::VisitPage;
use crate::demo;
use crate::grow::Growth;
use crate::look::attached::{Add, Attached, Shows};
use crate::look::causes;
use crate::look::check::{Check, Target};
use crate::look::entry::{Entry, Typed};
use crate::look::first::{First, Said};

const LONG: &str = "Behind the <b>third</b> cupboard & \"left\" of the door that nobody ever opens, second floor, Unterwasserarchäologieabteilung";

fn site_and_visit() -> (SiteDocument, Visit) {
    let site = read_site(demo::SITE, "site", Form::Toml)
        .expect("the demo reads; a test of `site` reads it too");
    let visit = read_visit(demo::VISIT, "visit", Form::Toml, &site.site)
        .expect("the demo reads; a test of `site` reads it too");
    (site, visit)
}

fn region(id: &str) -> &'static Region {
    Region::find(id).unwrap_or(&Region::all()[0])
}

const STOP: Action = Action {
    use_: Use::Stop,
    who: Who::Electrician,
    when: When::Now,
};

fn next(key: &str, says: &str, tell: &str) -> Next {
    let outcome = |result: &str, probability, means: &str| Outcome {
        result: result.into(),
        probability,
        means: means.into(),
    };
    Next {
        key: key.into(),
        says: says.into(),
        caution: "Prove the meter on a known live source before and after. Local codes and licensed practice come first.".into(),
        minutes: 2.2,
        hazard: 1,
        would_mean: vec![outcome("108 V to 127 V", 0.6, "the neutral is broken before it"), outcome("under 5 V", f64::NAN, "something else")],
        worth: 12.0,
        tell: tell.into(),
    }
}

/// An open neutral, with numbers that are none among the evidence.
fn answer(next: Option<Next>) -> Answer {
    let told = |read: &str, weight: f64| Told {
        reading: "r1".into(),
        read: read.into(),
        predicts: "0 V to 3 V".into(),
        weight,
    };
    let group = |probability: f64, says: &str| Group {
        probability,
        faults: vec![FaultAt {
            kind: "open-neutral-run".into(),
            at: "run:front-desk".into(),
        }],
        says: says.into(),
        others: vec![Member {
            probability: 0.2,
            faults: Vec::new(),
            says: "the neutral is loose at its terminal".into(),
        }],
        verdict: Verdict::Danger,
        action: STOP,
        mends: "A licensed electrician finds and remakes the broken neutral.".into(),
        caution: "The neutral contact may be at full hot voltage: do not touch it.".into(),
        severity: Some("over 30 kΩ".into()),
        evidence: vec![
            told("front desk, hot to neutral: 0 V", 4.1),
            told("front desk, hot to ground: 121 V", -1.2),
            told("odd", f64::NAN),
        ],
    };
    Answer {
        format: FORMAT,
        verdict: Verdict::Danger,
        action: STOP,
        headline: "DANGER: take it out of use now. It is a licensed electrician's work, now.".into(),
        because: "Most likely the neutral is broken before the waiting room (71 %).".into(),
        danger: Danger { shock: 0.83, fire: 0.2 },
        caution: "The neutral contact may be at full hot voltage although equipment seems dead: do not touch it.".into(),
        causes: vec![group(0.71, "the neutral is broken between the front desk and the waiting room"), group(0.1, LONG), group(0.004, "rare")],
        not_in_catalogue: 0.01,
        next,
        for_electrician: vec!["The terminals of the neutral at the front desk.".into()],
        findings: Vec::new(),
        remarks: vec!["hot to ground at the waiting room was told twice.".into()],
        parts: Vec::new(),
        work: Work::default(),
    }
}

fn target() -> Target {
    Target {
        action: "/site/1/tell".into(),
        method: "post",
        hidden: Vec::new(),
        key: "00000000-0000-4000-8000-000000000000".into(),
    }
}

fn entry(region: &Region, receptacle: usize, problems: &[&str]) -> Entry {
    Entry {
        place: "front-desk".into(),
        receptacle: region.receptacles[receptacle.min(region.receptacles.len() - 1)].clone(),
        words: region.words.clone(),
        typed: Typed {
            pair: "le".into(),
            value: if problems.is_empty() {
                String::new()
            } else {
                "12o".into()
            },
            ..Typed::default()
        },
        meter: Some("an ordinary hand-held meter".into()),
        problems: problems.iter().map(|it| (*it).to_owned()).collect(),
        target: target(),
    }
}

/// The demo, 500 outlets, none, and names that try to break out.
pub fn sites() -> Vec<(&'static str, SitePage)> {
    let (document, visit) = site_and_visit();
    let mut worst = Worst::default();
    worst.take_in(&trace::verdicts(&document.site, &visit));
    let page = |name: &str, said: Said, (supply, circuits)| SitePage {
        id: "1".into(),
        name: name.into(),
        note: Some("Invented.".into()),
        region: "North America".into(),
        visit: Some((
            "visit 1 of 2026-03-14, open".into(),
            "/site/1/visit/1".into(),
        )),
        said,
        supply,
        circuits,
    };
    let drawn = SitePage::drawn("1", &document.site, document.written(), &worst);
    let danger = Said::First(First::of(&answer(None)));
    let empty = made("Nothing here", 0, 0);
    let huge = made("Five hundred", 25, 20);
    let of = |it: &SiteDocument| SitePage::drawn("1", &it.site, it.written(), &Worst::default());
    vec![
        (
            "demo",
            page("Larkfield Animal Clinic", danger, drawn.clone()),
        ),
        (
            "being weighed",
            page("Larkfield Animal Clinic", Said::Soon, drawn),
        ),
        (
            "empty",
            SitePage {
                visit: None,
                note: None,
                ..page("Nothing here", Said::Nothing, of(&empty))
            },
        ),
        (
            "500 outlets",
            page("Five hundred", Said::Nothing, of(&huge)),
        ),
        (
            "long names",
            page(
                LONG,
                Said::Failed("what it is".into()),
                of(&made(LONG, 2, 3)),
            ),
        ),
    ]
}

/// A site of so many circuits with so many outlets each, every fourth behind the one two before it.
fn made(name: &str, n_circuits: usize, n_outlets: usize) -> SiteDocument {
    let quoted = toml::Value::String(name.to_owned()).to_string();
    let mut text = format!("format = 1\nname = {quoted}\nregion = \"north-america\"\n");
    for c in 0..n_circuits {
        text += &format!("[[circuit]]\nid = \"C{c}\"\nbreaker = \"20 A\"\n");
        for o in 0..n_outlets {
            let feed = match o {
                0 => format!("circuit = \"C{c}\""),
                o => format!(
                    "after = \"o{c}-{}\"",
                    if o % 4 == 3 { o - 2 } else { o - 1 }
                ),
            };
            text += &format!(
                "[[outlet]]\nid = \"o{c}-{o}\"\n{feed}\nrun = \"4 m\"\nlabel = {quoted}\n"
            );
        }
    }
    read_site(&text, "made", Form::Toml).expect("what is made here reads")
}

/// A picture, one with a note that tries to break out, a note, a paper.
fn attached(place: Option<&str>) -> Vec<Attached> {
    let of = |shows, note: &str| Attached {
        href: "/site/1/visit/1/attached/1".into(),
        shows,
        note: note.into(),
        place: place.map(str::to_owned),
        at: "2026-03-14 09:00 UTC".into(),
    };
    vec![
        of(Shows::Picture, ""),
        of(Shows::Picture, LONG),
        of(Shows::Note, "The key hangs behind the door."),
        of(Shows::Paper, ""),
    ]
}

/// Danger with each kind of check, nothing told, being weighed, closed, a slip, other regions.
pub fn places() -> Vec<(&'static str, PlacePage)> {
    let (document, _) = site_and_visit();
    let site = &document.site;
    let here = site.outlet("front-desk");
    let page_of = |id: &str| format!("/site/1/place/{id}");
    let check = |it: &Next| Check::of(it, site, here, page_of);
    let row = |id: &str, by: Option<&str>| Row {
        id: id.into(),
        words: "Front desk, left, hot to neutral: 0.01 V".into(),
        corrected_by: by.map(str::to_owned),
        is_reading: true,
        correct: Some("/site/1/place/front-desk?corrects=r1".into()),
    };
    let page = |next: Option<Next>, entry: Entry| PlacePage {
        site: "1".into(),
        site_name: "Larkfield Animal Clinic".into(),
        name: "Front desk, left".into(),
        hangs: "Circuit A3, leg A, 20 A breaker; after Reception, 6 m of cable".into(),
        beside: vec![
            ("before it", "Reception".into(), page_of("reception")),
            ("after it", "Waiting room".into(), page_of("waiting-room")),
        ],
        about: "circuit A3".into(),
        said: Said::First(First::of(&answer(None))),
        check: Some(next.as_ref().map(check)),
        entry,
        line: (String::new(), Vec::new()),
        told: vec![row("r2", None), row("r1", Some("r2"))],
        n_earlier: 0,
        causes: causes::of(&answer(None)),
        open: Open::Visit("Visit 1".into()),
        attached: attached(None),
        add: Add::default(),
    };
    let na = region("north-america");
    let volts = next(
        "volts:front-desk:line-neutral",
        "Read hot to neutral at Front desk, left.",
        "front-desk: hot-neutral ... V",
    );
    let lamps = next(
        "lamps:waiting-room",
        "Plug the three-lamp tester into Waiting room.",
        "waiting-room: lamps ...",
    );
    let either = next(
        "detector:front-desk:line",
        "Hold a non-contact detector at hot.",
        "front-desk: detector signals at hot (or: detector quiet at hot)",
    );
    let breaker = next(
        "breaker:A3",
        "Look whether the breaker of circuit A3 is on; look only.",
        "breaker tripped (or: breaker on)",
    );
    let nothing = PlacePage {
        said: Said::Nothing,
        check: None,
        told: Vec::new(),
        causes: Vec::new(),
        open: Open::None,
        attached: Vec::new(),
        beside: Vec::new(),
        ..page(None, entry(region("japan"), 0, &[]))
    };
    let slip = PlacePage {
        add: Add {
            note: LONG.into(),
            problems: vec!["The picture: this is no JPEG.".into()],
            ..Add::default()
        },
        line: (
            "foo bar".into(),
            vec!["line:1:1  \"foo bar\" is not understood".into()],
        ),
        ..page(
            None,
            entry(na, 0, &["The value: write what the meter shows, as 121.2."]),
        )
    };
    let mut all = vec![
        ("value", page(Some(volts), entry(na, 0, &[]))),
        ("lamps elsewhere", page(Some(lamps), entry(na, 7, &[]))),
        (
            "either",
            page(Some(either), entry(region("iec-230"), 3, &[])),
        ),
        (
            "breaker",
            page(Some(breaker), entry(region("japan"), 2, &[])),
        ),
        ("nothing told", nothing),
        ("a slip", slip),
        (
            "no check left",
            page(None, entry(region("iec-230"), 2, &[])),
        ),
        (
            "being weighed",
            PlacePage {
                said: Said::Soon,
                check: None,
                ..page(None, entry(na, 2, &[]))
            },
        ),
        (
            "closed",
            PlacePage {
                open: Open::Closed("Visit 1".into()),
                name: LONG.into(),
                ..page(None, entry(na, 0, &[]))
            },
        ),
    ];
    let mut correcting = page(None, entry(na, 0, &[]));
    correcting.entry.typed.corrects = "r1".into();
    all.push(("correcting", correcting));
    all
}

/// Danger, circuit by circuit, and nothing.
pub fn evidence() -> Vec<(&'static str, Evidence)> {
    let (document, visit) = site_and_visit();
    let of = |answer: Answer| Evidence {
        site: "1".into(),
        site_name: document.site.name.clone(),
        visit: "Visit 1 of 2026-03-14".into(),
        said: Said::First(First::of(&answer)),
        causes: causes::of(&answer),
        unknown: answer.not_in_catalogue,
        findings: trace::verdicts(&document.site, &visit),
        n_findings: 2000,
        for_electrician: answer.for_electrician,
        remarks: answer.remarks,
        words: document.site.region.words.clone(),
    };
    let nothing = Evidence {
        said: Said::Nothing,
        causes: Vec::new(),
        unknown: f64::NAN,
        findings: Vec::new(),
        n_findings: 0,
        for_electrician: Vec::new(),
        remarks: Vec::new(),
        ..of(answer(None))
    };
    vec![("danger", of(answer(None))), ("nothing", nothing)]
}

/// Nothing told, led, a slip.
pub fn quick() -> Vec<(&'static str, Quick)> {
    let na = region("north-america");
    let (document, _) = site_and_visit();
    let volts = next(
        "volts:front-desk:line-neutral",
        "Read hot to neutral.",
        "front-desk: hot-neutral ... V",
    );
    let get = Target {
        action: "/quick".into(),
        method: "get",
        key: String::new(),
        ..target()
    };
    let blank = |region: &'static Region| Quick {
        region,
        told: Vec::new(),
        understood: Vec::new(),
        said: Said::Nothing,
        check: None,
        entry: Entry {
            target: get.clone(),
            ..entry(region, 0, &[])
        },
        line: (String::new(), Vec::new()),
        causes: Vec::new(),
    };
    let led = Quick {
        told: vec!["desk: hot-neutral 0 V".into()],
        understood: vec!["desk, hot to neutral: 0 V".into()],
        said: Said::First(First::of(&answer(None))),
        check: Some(Some(Check::of(&volts, &document.site, None, |it| {
            it.to_owned()
        }))),
        causes: causes::of(&answer(None)),
        ..blank(na)
    };
    let slip = Quick {
        line: (
            LONG.into(),
            vec![format!("line:1:1  {LONG} is not understood")],
        ),
        ..blank(region("iec-230"))
    };
    vec![
        ("nothing told", blank(na)),
        ("two slots", blank(region("japan"))),
        ("led", led),
        ("a slip", slip),
    ]
}

/// Open with findings, closed and empty.
pub fn visits() -> Vec<(&'static str, VisitPage)> {
    let (document, visit) = site_and_visit();
    let row = |it: &site::visit::Reading| Row {
        id: it.id.clone(),
        words: trace::words::reading(&document.site, it),
        corrected_by: None,
        is_reading: true,
        correct: None,
    };
    let page = VisitPage {
        site: "1".into(),
        site_name: document.site.name.clone(),
        number: 1,
        when: "2026-03-14, open".into(),
        open: true,
        told: visit.readings.iter().map(row).collect(),
        shown: 400..400 + visit.readings.len(),
        n_told: 20_000,
        findings: trace::verdicts(&document.site, &visit),
        n_findings: 20_000,
        attached: attached(Some("Front desk, left")),
        words: document.site.region.words.clone(),
        key: "k".into(),
    };
    let empty = VisitPage {
        open: false,
        told: Vec::new(),
        shown: 0..0,
        n_told: 0,
        findings: Vec::new(),
        n_findings: 0,
        attached: Vec::new(),
        when: "closed".into(),
        site_name: LONG.into(),
        words: page.words.clone(),
        site: "1".into(),
        key: "k".into(),
        number: 7,
    };
    vec![("open", page), ("closed and empty", empty)]
}

/// As kept, with problems, with somebody else's change.
pub fn files() -> Vec<(&'static str, FilePage)> {
    let page = |text: &str| FilePage {
        site: "1".into(),
        site_name: "Larkfield Animal Clinic".into(),
        text: text.to_owned(),
        revision: 3,
        problems: Vec::new(),
        theirs: None,
        feeds: vec![
            ("circuit:A3".into(), "Circuit A3, from the panel".into()),
            ("outlet:lab".into(), LONG.into()),
        ],
        sockets: vec![("outlet:lab".into(), LONG.into())],
        protected: vec![("panel:main".into(), LONG.into())],
        machines: vec![("machine:pc".into(), LONG.into())],
        growth: Growth::default(),
        key: "k".into(),
    };
    let broken = FilePage {
        problems: vec![(
            Some(3),
            "circuit \"A3\": breaker \"20\" has no unit; write \"20 A\"".into(),
        )],
        growth: Growth {
            what: "outlet".into(),
            name: LONG.into(),
            ..Growth::default()
        },
        ..page("</textarea><script>alert(1)</script>")
    };
    let meanwhile = FilePage {
        theirs: Some(demo::SITE.to_owned()),
        ..page(demo::SITE)
    };
    let empty = FilePage {
        feeds: Vec::new(),
        sockets: Vec::new(),
        machines: Vec::new(),
        revision: 1,
        ..page(&SiteFile::default().to_toml())
    };
    vec![
        ("kept", page(demo::SITE)),
        ("broken", broken),
        ("meanwhile", meanwhile),
        ("empty", empty),
    ]
}
