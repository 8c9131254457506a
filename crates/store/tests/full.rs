//! A disk that fills up: said plainly, nothing acknowledged is lost, and it works again when there is room.
//!
//! The disk is a small file system in memory, seen by the child process only. Making one needs Linux and the right to
//! (root, or user namespaces).
#![cfg(target_os = "linux")]

mod support;

use std::path::Path;
use std::process::Command;

use store::{NewAttachment, Package, Seq, Store, StoreError, Which};
use support::{OUTLETS, Place, at, clinic, key, read, visit_id, wait};

const DISK: &str = "WATTWRIGHT_TEST_DISK";

#[test]
fn a_full_disk_is_said_and_nothing_acknowledged_is_lost() {
    let place = Place::new();
    let disk = place.path("disk");
    std::fs::create_dir(&disk).expect("a folder");
    let this = std::env::current_exe().expect("this test");
    let run = |unshare: &[&str]| {
        Command::new("unshare")
            .args(unshare)
            .args([
                "sh",
                "-c",
                "mount -t tmpfs -o size=2m none \"$0\" && exec \"$@\"",
            ])
            .arg(&disk)
            .arg(&this)
            .args(["--exact", "a_child_on_a_small_disk", "--nocapture"])
            .env(DISK, &disk)
            .output()
    };
    let ran = run(&["--mount"])
        .ok()
        .filter(|it| it.status.success() || said(&it.stdout));
    let ran = ran.or_else(|| run(&["--mount", "--map-root-user"]).ok());
    let ran = ran.expect("`unshare` of util-linux starts");
    let (out, err) = (
        String::from_utf8_lossy(&ran.stdout),
        String::from_utf8_lossy(&ran.stderr),
    );
    assert!(ran.status.success() && said(&ran.stdout), "{out}\n{err}");
}

/// Whether the child came to its end; without the right to mount it does not begin.
fn said(out: &[u8]) -> bool {
    String::from_utf8_lossy(out).contains("the disk was full")
}

/// What the test above starts; by itself it does nothing.
#[test]
fn a_child_on_a_small_disk() {
    let Ok(disk) = std::env::var(DISK) else {
        return;
    };
    wait(fill(Path::new(&disk)));
}

async fn fill(disk: &Path) {
    let path = disk.join("wattwright.db");
    let store = clinic(&path).await;
    let mut acknowledged = Vec::new();
    let mut n_full = 0;
    // once at the end of the room, once again after some was made
    for round in 0..2 {
        let ballast = disk.join(format!("ballast-{round}"));
        let room = 200_000 * (2 - round);
        fill_up_to(&ballast, room);
        loop {
            let n = acknowledged.len() as u64;
            match store
                .append(
                    visit_id(1),
                    key(n),
                    &read(OUTLETS[0], "120 V"),
                    at(n as i64),
                )
                .await
            {
                Ok(kept) => acknowledged.push((kept.seq, kept.id)),
                Err(error) => {
                    assert!(matches!(error, StoreError::Full { .. }), "{error:?}");
                    assert!(error.to_string().contains("is full"), "{error}");
                    n_full += 1;
                    break;
                }
            }
        }
        // reading goes on, and whatever else needs room is refused in the same words
        check(&store, &acknowledged).await;
        let bytes = vec![b'a'; 300_000];
        let large = NewAttachment {
            place: "lab",
            note: "",
            bytes: &bytes,
        };
        let refused = store.attach(visit_id(1), key(1 << 40), large, at(0)).await;
        assert!(
            matches!(refused, Err(StoreError::Full { .. })),
            "{refused:?}"
        );
        let refused = store.backup(&disk.join("backups"), at(0)).await;
        assert!(
            matches!(refused, Err(StoreError::Full { .. })),
            "{refused:?}"
        );
        let refused = store
            .export(Which::All, Package::Folder, &disk.join("out"))
            .await;
        assert!(
            matches!(refused, Err(StoreError::Full { .. })),
            "{refused:?}"
        );
        assert!(!disk.join("out").exists() && !disk.join("out.part").exists());
        std::fs::remove_file(&ballast).expect("removed");
    }
    let kept = store
        .append(visit_id(1), key(1 << 41), &read(OUTLETS[0], "120 V"), at(0))
        .await;
    let kept = kept.expect("there is room again");
    acknowledged.push((kept.seq, kept.id));
    check(&store, &acknowledged).await;
    store.close().await;
    let store = Store::open(&path).await.expect("a sound store");
    check(&store, &acknowledged).await;
    println!(
        "the disk was full {n_full} times, {} readings kept",
        acknowledged.len()
    );
}

async fn check(store: &Store, acknowledged: &[(Seq, String)]) {
    store.check().await.expect("integrity");
    let entries = store.entries(visit_id(1), Seq(0)).await.expect("read");
    let kept: Vec<(Seq, String)> = entries.into_iter().map(|it| (it.seq, it.id)).collect();
    assert_eq!(kept, acknowledged);
}

/// Leaves so many bytes of the disk.
fn fill_up_to(ballast: &Path, room: usize) {
    use std::io::Write;
    let mut file = std::fs::File::create(ballast).expect("created");
    let mut n = 0;
    while file.write_all(&[0; 4096]).is_ok() {
        n += 4096;
    }
    file.set_len((n - room.min(n)) as u64).expect("shortened");
}
