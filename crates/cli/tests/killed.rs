//! The program killed at any moment under load over http: `WATTWRIGHT_KILLS=200 cargo test -p wattwright --test killed --
//! --nocapture` for more moments than the usual 30.
#![cfg(unix)]

mod opened_program;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use opened_program::{Program, asked, open};

/// So many send readings at once, each with every so manieth number.
const WRITERS: u64 = 4;
/// A site of its own for so many kills: what a page has to read stays small.
const KILLS_A_SITE: u32 = 10;

/// Chance of our own, so that every run kills at the same places.
struct Chance(u64);

impl Chance {
    /// xorshift64*, as in the literature; below `n`.
    fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 33) % n
    }
}

fn key(n: u64) -> String {
    format!("00000000-0000-4000-8000-{n:012x}")
}

/// No two readings have the same, and none ends in a zero, which may be written or not.
fn value(n: u64) -> String {
    let it = n / 9 * 10 + n % 9 + 1;
    format!("{}.{:03}", 100 + it / 1000, it % 1000)
}

fn made(program: &Program, n: u64) -> String {
    let key = format!("00000000-0000-4000-9000-{n:012x}");
    let form =
        format!("key={key}&name=Load+{n}&region=north-america&circuit=A&breaker=20+A&outlet=desk");
    let answer = program.ask("POST", "/new", &form);
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    let site = format!("/site/{key}");
    // else the first readings, sent at once, would open a visit each
    let opened = format!("key=00000000-0000-4000-a000-{n:012x}");
    let answer = program.ask("POST", &format!("{site}/visits"), &opened);
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    site
}

/// Sends readings until the program is gone; those that it acknowledged.
fn load(
    program: &mut Program,
    site: &str,
    from: u64,
    n_answers: usize,
    after: Duration,
) -> Vec<u64> {
    let acknowledged = Mutex::new(Vec::new());
    let n = AtomicUsize::new(0);
    let request = |n: u64| {
        let form = format!(
            "key={}&place=desk&pair=ln&value={}&meter=mid",
            key(n),
            value(n)
        );
        program.request("POST", &format!("{site}/tell"), &form)
    };
    let (port, id) = (program.port, program.child.id());
    std::thread::scope(|scope| {
        for writer in 0..WRITERS {
            let (acknowledged, n, request) = (&acknowledged, &n, &request);
            scope.spawn(move || {
                // the first ones were sent before: a phone that heard no answer sends again
                for it in (from..).filter(|it| it % WRITERS == writer) {
                    let mut answer = asked(port, &request(it));
                    while answer.starts_with("HTTP/1.1 409") {
                        // two at once named the visit's meter: one is told, and sends again
                        answer = asked(port, &request(it));
                    }
                    if !answer.starts_with("HTTP/1.1 303") {
                        // gone, or cut off in the middle; a refusal of a program that runs is a fault
                        assert!(!answer.contains("\r\n\r\n"), "{answer}");
                        return;
                    }
                    acknowledged.lock().expect("no writer has failed").push(it);
                    n.fetch_add(1, Ordering::SeqCst);
                }
            });
        }
        while n.load(Ordering::SeqCst) < n_answers {
            std::thread::sleep(Duration::from_micros(200));
        }
        std::thread::sleep(after);
        let killed = std::process::Command::new("kill")
            .args(["-KILL", &id.to_string()])
            .status();
        assert!(killed.is_ok_and(|it| it.success()), "killed");
    });
    program.child.wait().expect("ended");
    acknowledged.into_inner().expect("no writer has failed")
}

/// Every acknowledged reading once, and none twice.
fn sound(program: &Program, site: &str, acknowledged: &BTreeMap<u64, ()>) -> usize {
    let file = program.get(&format!("{site}/visit/1/file"));
    assert!(file.starts_with("HTTP/1.1 200"), "{file}");
    let mut kept: BTreeMap<&str, usize> = BTreeMap::new();
    for it in file.split("value = \"").skip(1) {
        *kept
            .entry(it.split(" V\"").next().unwrap_or_default())
            .or_default() += 1;
    }
    let doubled: Vec<_> = kept.iter().filter(|it| *it.1 > 1).collect();
    assert!(doubled.is_empty(), "doubled: {doubled:?}");
    let lost: Vec<u64> = acknowledged
        .keys()
        .copied()
        .filter(|it| !kept.contains_key(value(*it).as_str()))
        .collect();
    assert!(
        lost.is_empty(),
        "acknowledged and lost: {lost:?} of {kept:?}"
    );
    kept.len()
}

#[test]
fn nothing_acknowledged_over_http_is_lost_or_doubled_when_the_program_is_killed() {
    let kills: u32 =
        std::env::var("WATTWRIGHT_KILLS").map_or(30, |it| it.parse().expect("a number"));
    // in memory where it can be: a killed process leaves the system's cache of the disk whole
    let memory = Path::new("/dev/shm");
    let folder = if memory.is_dir() {
        tempfile::tempdir_in(memory)
    } else {
        tempfile::tempdir()
    };
    let folder = folder.expect("a folder");
    let data = folder.path().join("x.db");
    let mut chance = Chance(0x5eed);
    let (mut next, mut total, mut site) = (0u64, 0, String::new());
    let mut acknowledged: BTreeMap<u64, ()> = BTreeMap::new();
    for kill in 0..kills {
        let mut program = open(&data, &["--port", "0"]);
        if kill % KILLS_A_SITE == 0 {
            site = made(&program, u64::from(kill));
            acknowledged.clear();
            next = next.next_multiple_of(1000);
        } else {
            sound(&program, &site, &acknowledged);
        }
        let first = next
            .saturating_sub(3 * WRITERS)
            .max(acknowledged.keys().next().copied().unwrap_or(next));
        let n_answers = 1 + chance.below(25) as usize;
        let after = Duration::from_micros(chance.below(8000));
        let kept = load(&mut program, &site, first, n_answers, after);
        for it in kept {
            next = next.max(it + 1);
            if acknowledged.insert(it, ()).is_none() {
                total += 1;
            }
        }
    }
    let program = open(&data, &["--port", "0"]);
    let n = sound(&program, &site, &acknowledged);
    println!("{kills} kills, {total} readings acknowledged over http, {n} rows at the last site");
    assert!(total > kills as usize, "hardly anything was written");
}
