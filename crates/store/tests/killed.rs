//! Killed at any moment under load: `WATTWRIGHT_KILLS=200 cargo test -p store --test killed -- --nocapture` for more
//! moments than the usual 40.

mod support;

use std::collections::HashMap;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use store::{Key, Revision, Seq, Store};
use support::{Chance, OUTLETS, Place, SITE, at, clinic, key, read, site_id, visit_id, wait};

const STORE: &str = "WATTWRIGHT_TEST_STORE";
const FROM: &str = "WATTWRIGHT_TEST_FROM";
/// So many write readings at once, each with every so manieth number.
const WRITERS: u64 = 4;

fn value(n: u64) -> String {
    format!("{n} V")
}

/// What the test below starts and kills; by itself it does nothing.
#[test]
fn a_child_that_writes_until_it_is_killed() {
    let (Ok(path), Ok(from)) = (std::env::var(STORE), std::env::var(FROM)) else {
        return;
    };
    let from: u64 = from.parse().expect("a number");
    wait(async {
        let store = Store::open(Path::new(&path)).await.expect("a sound store");
        let mut tasks = tokio::task::JoinSet::new();
        for writer in 0..WRITERS {
            let store = store.clone();
            tasks.spawn(async move {
                // the first ones were sent before: a phone that heard no answer sends again
                for n in (from..).filter(|n| n % WRITERS == writer) {
                    let said = read(OUTLETS[n as usize % 4], &value(n));
                    let kept = store.append(visit_id(1), key(n), &said, at(n as i64)).await;
                    let kept = kept.expect("kept");
                    println!("\nkept {n} {} {}", kept.seq, kept.id);
                }
            });
        }
        tasks.spawn(async move {
            loop {
                let site = store.site(site_id(1)).await.expect("kept");
                let text = format!("# after {}\n{SITE}", site.revision);
                let done = store
                    .replace_site(site_id(1), &text, site.revision, at(0))
                    .await;
                println!("\nsite {}", done.expect("kept").revision);
                tokio::time::sleep(Duration::from_millis(20)).await;
            }
        });
        tasks.join_all().await;
    });
}

#[test]
fn nothing_acknowledged_is_lost_or_doubled_when_it_is_killed() {
    let kills: u32 =
        std::env::var("WATTWRIGHT_KILLS").map_or(40, |it| it.parse().expect("a number"));
    let place = Place::new();
    wait(async { clinic(&place.store()).await.close().await });
    let mut chance = Chance(11);
    let mut acknowledged: HashMap<Key, (i64, String, String)> = HashMap::new();
    let (mut next, mut revision) = (0u64, 1i64);
    for _ in 0..kills {
        let again = next.saturating_sub(3 * WRITERS);
        // somewhere between an answer and the commits after the next ones, whatever the speed of the machine
        let n_answers = 1 + chance.below(25);
        let after = Duration::from_micros(chance.below(4000) as u64);
        let (kept, site) = killed(&place.store(), again, n_answers, after);
        for (n, seq, id) in kept {
            next = next.max(n + 1);
            let row = (seq, id, value(n));
            let before = acknowledged.insert(key(n), row.clone());
            assert!(
                before.is_none_or(|it| it == row),
                "reading {n} was acknowledged twice, differently"
            );
        }
        revision = revision.max(site);
        wait(sound(&place.store(), &acknowledged, revision));
    }
    println!(
        "{kills} kills, {} readings acknowledged, site at revision {revision}",
        acknowledged.len()
    );
    assert!(
        acknowledged.len() > kills as usize,
        "hardly anything was written"
    );
}

/// Starts the child, kills it so long after so many answers, and gives what it acknowledged.
fn killed(
    path: &Path,
    from: u64,
    n_answers: usize,
    after: Duration,
) -> (Vec<(u64, i64, String)>, i64) {
    let this = std::env::current_exe().expect("this test");
    let child = Command::new(this)
        .args([
            "--exact",
            "a_child_that_writes_until_it_is_killed",
            "--nocapture",
        ])
        .env(STORE, path)
        .env(FROM, from.to_string())
        .stdout(Stdio::piped())
        .spawn();
    let mut child = child.expect("started");
    let mut lines = BufReader::new(child.stdout.take().expect("piped")).lines();
    let is_answer = |it: &String| it.starts_with("kept ") || it.starts_with("site ");
    let mut answers: Vec<String> = lines
        .by_ref()
        .map_while(Result::ok)
        .filter(is_answer)
        .take(n_answers)
        .collect();
    assert_eq!(answers.len(), n_answers, "the child ended by itself");
    std::thread::sleep(after);
    child.kill().expect("killed"); // SIGKILL on Unix
    answers.extend(lines.map_while(Result::ok).filter(is_answer));
    child.wait().expect("ended");
    let (mut kept, mut revision) = (Vec::new(), 0);
    for answer in answers {
        let words: Vec<&str> = answer.split(' ').collect();
        match words.as_slice() {
            ["kept", n, seq, id] => {
                let number = |it: &str| it.parse::<i64>().expect("a number");
                kept.push((number(n) as u64, number(seq), (*id).to_owned()));
            }
            ["site", it] => revision = revision.max(it.parse().expect("a number")),
            _ => {} // cut off in the middle
        }
    }
    (kept, revision)
}

async fn sound(path: &Path, acknowledged: &HashMap<Key, (i64, String, String)>, revision: i64) {
    let store = Store::open(path).await.expect("a sound store");
    store.check().await.expect("integrity");
    let entries = store.entries(visit_id(1), Seq(0)).await.expect("read");
    let mut kept = HashMap::new();
    for entry in entries {
        let store::Said::Reading(reading) = entry.said else {
            panic!("only readings were sent");
        };
        let row = (entry.seq.0, entry.id, reading.value);
        assert!(kept.insert(entry.key, row).is_none(), "doubled");
    }
    for (key, row) in acknowledged {
        assert_eq!(
            kept.get(key),
            Some(row),
            "acknowledged, and not there as it was"
        );
    }
    let values: std::collections::HashSet<&String> = kept.values().map(|it| &it.2).collect();
    assert_eq!(
        values.len(),
        kept.len(),
        "a reading is there under two keys"
    );
    let site = store.site(site_id(1)).await.expect("kept");
    assert!(site.revision.0 >= revision, "revision {revision} is lost");
    let at_least = store
        .site_at(site_id(1), Revision(revision))
        .await
        .expect("kept");
    assert!(
        revision == 1
            || at_least
                .text
                .starts_with(&format!("# after {}\n", revision - 1))
    );
    store.close().await;
}
