//! Whatever is kept comes through export and import unchanged.

mod support;

use std::collections::BTreeMap;
use std::path::Path;

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use site::file::written_visit::{Condition, ConditionOrWords};
use store::{NewAttachment, Package, Said, Seq, SiteId, Store, StoreError, Which};
use support::{
    OUTLETS, Place, SITE, VISIT, at, clinic, head, key, reading, seen, site_id, visit_id, wait,
};

/// Something that a technician does.
#[derive(Clone, Debug)]
enum Act {
    Read {
        outlet: usize,
        centivolts: u32,
        words: Option<String>,
    },
    /// Corrects one of the readings before, by its place among them.
    Correct {
        which: usize,
        centivolts: u32,
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

fn acts() -> impl Strategy<Value = Vec<Act>> {
    let act = prop_oneof![
        8 => (0..OUTLETS.len(), 0..30000u32, prop::option::of(".{0,12}"))
            .prop_map(|(outlet, centivolts, words)| Act::Read { outlet, centivolts, words }),
        3 => (any::<usize>(), 0..30000u32)
            .prop_map(|(which, centivolts)| Act::Correct { which, centivolts }),
        2 => (0..OUTLETS.len()).prop_map(|outlet| Act::See { outlet }),
        1 => (0..OUTLETS.len(), ".{0,12}").prop_map(|(outlet, note)| Act::Attach { outlet, note }),
        1 => ".{0,12}".prop_map(|note| Act::Rewrite { note }),
        1 => ".{0,12}".prop_map(|check| Act::Cannot { check }),
        1 => Just(Act::Close),
        1 => Just(Act::Import),
    ];
    prop::collection::vec(act, 0..40)
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

fn volts(centi: u32) -> String {
    format!("{:.2} V", f64::from(centi) / 100.0)
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

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 40, failure_persistence: None, rng_seed: RngSeed::Fixed(3), ..ProptestConfig::default()
    })]

    #[test]
    fn prop_export_and_import_lose_nothing(acts in acts()) {
        wait(async {
            let place = Place::new();
            let store = clinic(&place.store()).await;
            act(&store, &acts).await.expect("every act is sound");
            let kept = all(&store).await.expect("read");
            let (folder, archive) = (place.path("folder"), place.path("all.zip"));
            store.export(Which::All, Package::Folder, &folder).await.expect("exported");
            store.export(Which::All, Package::Archive, &archive).await.expect("exported");
            for (n, from) in [&folder, &archive].into_iter().enumerate() {
                let fresh = Store::open(&place.path(&format!("fresh-{n}.db"))).await.expect("a new store");
                let ids = fresh.import(from).await.expect("imported");
                assert_eq!(ids, [site_id(1)]);
                assert_eq!(all(&fresh).await.expect("read"), kept);
                let again = place.path(&format!("again-{n}"));
                fresh.export(Which::One(ids[0]), Package::Folder, &again).await.expect("exported");
                assert_eq!(files(&again), files(&folder));
                // a phone that sends its last row again doubles nothing
                resend(&store, &fresh, ids[0]).await;
            }
        });
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
