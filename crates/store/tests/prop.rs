//! Whatever is kept comes through export and import unchanged.

mod support;

use std::collections::BTreeMap;
use std::path::Path;

use site::file::written_visit::{Condition, ConditionOrWords};
use store::{NewAttachment, Package, Said, Seq, SiteId, Store, StoreError, Which};
use support::{
    Chance, OUTLETS, Place, SITE, VISIT, at, clinic, head, key, reading, seen, site_id, visit_id,
    wait,
};

/// Something that a technician does.
#[derive(Clone, Debug)]
enum Act {
    Read {
        outlet: usize,
        centivolts: usize,
        words: Option<String>,
    },
    /// Corrects one of the readings before, by its place among them.
    Correct {
        which: usize,
        centivolts: usize,
    },
    See {
        outlet: usize,
    },
    Attach {
        outlet: usize,
        note: String,
    },
    Rewrite {
        note: String,
    },
    Cannot {
        check: String,
    },
    /// Closes the visit and opens the next.
    Close,
    Import,
}

fn acts(chance: &mut Chance) -> Vec<Act> {
    let n = chance.below(40);
    (0..n).map(|_| one(chance)).collect()
}

fn one(chance: &mut Chance) -> Act {
    let outlet = chance.below(OUTLETS.len());
    let centivolts = chance.below(30_000);
    match chance.below(18) {
        0..8 => Act::Read {
            outlet,
            centivolts,
            words: (chance.below(2) == 0).then(|| words(chance)),
        },
        8..11 => Act::Correct {
            which: chance.below(1000),
            centivolts,
        },
        11..13 => Act::See { outlet },
        13 => Act::Attach {
            outlet,
            note: words(chance),
        },
        14 => Act::Rewrite {
            note: words(chance),
        },
        15 => Act::Cannot {
            check: words(chance),
        },
        16 => Act::Close,
        _ => Act::Import,
    }
}

/// Words as nobody writes them, to see that each letter comes through.
fn words(chance: &mut Chance) -> String {
    let letters = [
        'a', 'Z', ' ', '"', '\'', '\\', '\n', '\t', '\r', '#', '[', ']', '=', 'é', '漢', '\u{0}',
        '\u{7f}', '😀',
    ];
    let n = chance.below(12);
    (0..n)
        .map(|_| letters[chance.below(letters.len())])
        .collect()
}

/// Everything of a store that its users can ask for.
#[derive(Debug, PartialEq)]
struct All(Vec<String>);

async fn all(store: &Store) -> Result<All, StoreError> {
    let mut all = Vec::new();
    for site in store.sites().await? {
        all.push(format!("{site:?}"));
        for (revision, _) in store.revisions(site.id).await? {
            let it = store.site_at(site.id, revision).await?;
            all.push(format!("{revision} {} {}", it.at, it.text));
        }
        for visit in store.visits(site.id).await? {
            all.push(format!("{visit:?}\n{}", store.visit_text(visit.id).await?));
            let record = store.visit(visit.id).await?;
            all.push(format!("{:?} {:?}", record.entries, record.visit()));
            for it in store.attachments(visit.id).await? {
                all.push(format!("{it:?} {:?}", store.attachment(it.key).await?.1));
            }
        }
    }
    Ok(All(all))
}

async fn act(store: &Store, acts: &[Act]) -> Result<(), StoreError> {
    let (mut n_visits, mut revision) = (1, store.site(site_id(1)).await?.revision);
    let (mut readings, mut n) = (Vec::new(), 0);
    for act in acts {
        n += 1;
        // the clock goes back now and then
        let now = at(10 + (n as i64 * 7) % 31);
        let visit = visit_id(n_visits);
        match act {
            Act::Read {
                outlet,
                centivolts,
                words,
            } => {
                let mut it = reading(OUTLETS[*outlet], &volts(*centivolts));
                it.condition = words.clone().map(|words| {
                    ConditionOrWords::Table(Condition {
                        remark: Some(words),
                        ..Condition::default()
                    })
                });
                readings.push(
                    store
                        .append(visit, key(n), &Said::Reading(it), now)
                        .await?
                        .id,
                );
            }
            Act::Correct { which, centivolts } if !readings.is_empty() => {
                let which = which % readings.len();
                let mut it = reading(OUTLETS[0], &volts(*centivolts));
                it.corrects = Some(readings.remove(which));
                readings.push(
                    store
                        .append(visit, key(n), &Said::Reading(it), now)
                        .await?
                        .id,
                );
            }
            Act::Correct { .. } => {}
            Act::See { outlet } => {
                store
                    .append(visit, key(n), &seen(OUTLETS[*outlet], "buzzing"), now)
                    .await?;
            }
            Act::Attach { outlet, note } => {
                let bytes = b"the same paper each time";
                let new = NewAttachment {
                    place: OUTLETS[*outlet],
                    note,
                    bytes,
                };
                store.attach(visit, key(n), new, now).await?;
            }
            Act::Rewrite { note } => {
                let text = format!("# {}\n{SITE}", note.replace(char::is_control, "?"));
                revision = store
                    .replace_site(site_id(1), &text, revision, now)
                    .await?
                    .revision;
            }
            Act::Cannot { check } => {
                let before = store.visit(visit).await?;
                let mut head = before.head;
                head.cannot.push(check.clone());
                store
                    .replace_head(visit, &head, before.listing.revision)
                    .await?;
            }
            Act::Close | Act::Import => {
                store.close_visit(visit, now).await?;
                n_visits += 1;
                readings.clear();
                let next = visit_id(n_visits);
                match act {
                    Act::Close => store.open_visit(next, site_id(1), &head(), now).await?,
                    _ => store.import_visit(next, site_id(1), VISIT, now).await?,
                };
            }
        }
    }
    Ok(())
}

fn volts(centi: usize) -> String {
    format!("{:.2} V", centi as f64 / 100.0)
}

/// Every file of a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut files = BTreeMap::new();
    for it in std::fs::read_dir(folder).expect("a folder") {
        let path = it.expect("an entry").path();
        let name = path
            .file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        match path.is_dir() {
            true => {
                for (inner, bytes) in self::files(&path) {
                    files.insert(format!("{name}/{inner}"), bytes);
                }
            }
            false => drop(files.insert(name, std::fs::read(&path).expect("a file"))),
        }
    }
    files
}

#[test]
fn prop_export_and_import_lose_nothing() {
    wait(async {
        for case in 0..12 {
            round(case).await;
        }
    });
}

async fn round(case: u64) {
    let acts = acts(&mut Chance(case));
    println!("case {case}: {acts:?}");
    let place = Place::new();
    let store = clinic(&place.store()).await;
    act(&store, &acts).await.expect("every act is sound");
    let kept = all(&store).await.expect("read");
    let (folder, archive) = (place.path("folder"), place.path("all.zip"));
    let written = store.export(Which::All, Package::Folder, &folder).await;
    written.expect("exported");
    let written = store.export(Which::All, Package::Archive, &archive).await;
    written.expect("exported");
    for (n, from) in [&folder, &archive].into_iter().enumerate() {
        let fresh = Store::open(&place.path(&format!("fresh-{n}.db"))).await;
        let fresh = fresh.expect("a new store");
        let ids = fresh.import(from).await.expect("imported");
        assert_eq!(ids, [site_id(1)]);
        assert_eq!(all(&fresh).await.expect("read"), kept);
        let again = place.path(&format!("again-{n}"));
        let written = fresh
            .export(Which::One(ids[0]), Package::Folder, &again)
            .await;
        written.expect("exported");
        assert_eq!(files(&again), files(&folder));
        // a phone that sends its last row again doubles nothing
        resend(&store, &fresh, ids[0]).await;
    }
}

async fn resend(from: &Store, to: &Store, site: SiteId) {
    for visit in from.visits(site).await.expect("listed") {
        let entries = from.entries(visit.id, Seq(0)).await.expect("read");
        if let Some(last) = entries.last() {
            let answer = to
                .append(visit.id, last.key, &last.said, at(99))
                .await
                .expect("known");
            assert_eq!((answer.seq, answer.at), (last.seq, last.at));
        }
    }
}
