//! What happens when things break: nothing that was acknowledged is lost, nothing is doubled, nothing broken is hidden.

mod support;

use std::path::{Path, PathBuf};

use store::{Seq, Store, StoreError};
use support::{Chance, OUTLETS, Place, SITE, at, clinic, key, read, site_id, visit_id, wait};

#[test]
fn a_clock_that_goes_back_changes_neither_order_nor_count() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        for n in 0..50 {
            let said = read(OUTLETS[n % 4], &format!("{n} V"));
            let now = at(-86_400 * n as i64);
            store
                .append(visit_id(1), key(n as u64), &said, now)
                .await
                .expect("kept");
        }
        store.close().await;
        let store = Store::open(&place.store()).await.expect("a store");
        let entries = store.entries(visit_id(1), Seq(0)).await.expect("read");
        let told: Vec<(i64, _)> = entries.iter().map(|it| (it.seq.0, it.key)).collect();
        let sent: Vec<(i64, _)> = (0..50).map(|n| (n + 1, key(n as u64))).collect();
        assert_eq!(told, sent);
        let document = store.visit(visit_id(1)).await.expect("kept").file();
        let values: Vec<&str> = document
            .reading
            .iter()
            .map(|it| it.value.as_str())
            .collect();
        let expected: Vec<String> = (0..50).map(|n| format!("{n} V")).collect();
        assert_eq!(values, expected);
    });
}

#[test]
fn two_editors_at_once_lose_nothing() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        // each adds a line of its own forty times, and takes over what the other has when told of it
        let editor = |name: &'static str| {
            let store = store.clone();
            tokio::spawn(async move {
                let mut told = 0;
                for n in 0..40 {
                    let mut base = store.site(site_id(1)).await.expect("kept");
                    loop {
                        let text = format!("# {name} {n}\n{}", base.text);
                        let done = store
                            .replace_site(site_id(1), &text, base.revision, at(2))
                            .await;
                        match done {
                            Ok(_) => break,
                            Err(StoreError::Conflict(it)) => {
                                assert_eq!(it.yours, text);
                                assert_ne!(it.found, it.expected);
                                (base.text, base.revision) = (it.theirs, it.found);
                                told += 1;
                            }
                            Err(other) => panic!("{other}"),
                        }
                    }
                }
                told
            })
        };
        let (one, other) = (editor("one"), editor("other"));
        let told = one.await.expect("ended") + other.await.expect("ended");
        assert!(told > 0, "they never met, so this test shows nothing");
        let site = store.site(site_id(1)).await.expect("kept");
        for name in ["one", "other"] {
            for n in 0..40 {
                assert!(
                    site.text.contains(&format!("# {name} {n}\n")),
                    "{name} {n} is lost"
                );
            }
        }
        assert!(site.text.ends_with(SITE));
        assert_eq!(site.revision.0, 81);
    });
}

/// A store with three hundred readings, closed, with a backup beside it.
async fn filled(path: &Path) -> PathBuf {
    let store = clinic(path).await;
    for n in 0..300 {
        let said = read(OUTLETS[n % 4], &format!("{n} V"));
        store
            .append(visit_id(1), key(n as u64), &said, at(n as i64))
            .await
            .expect("kept");
    }
    let backup = store
        .backup(&Store::backup_folder(path), at(999))
        .await
        .expect("backed up");
    store.close().await;
    backup
}

#[test]
fn a_broken_file_is_named_with_its_backup_and_left_alone() {
    wait(async {
        let place = Place::new();
        let path = place.store();
        let backup = filled(&path).await;
        let sound = std::fs::read(&path).expect("a file");
        let store = Store::open(&path).await.expect("a store");
        let kept = everything(&store).await.expect("read");
        store.close().await;
        let mut chance = Chance(5);
        let (mut told, mut harmless) = (0, 0);
        for n in 0..120 {
            let mut bytes = sound.clone();
            let must_show = match n % 4 {
                0 => {
                    bytes[..100].fill_with(|| chance.number() as u8);
                    true
                }
                1 => {
                    bytes.truncate(if n == 1 { 0 } else { chance.below(bytes.len()) });
                    true
                }
                _ => {
                    let start = 100 + chance.below(bytes.len() - 100);
                    let length = 1 + chance.below(if n % 4 == 2 { 16 } else { 8000 });
                    let end = (start + length).min(bytes.len());
                    bytes[start..end].fill_with(|| chance.number() as u8);
                    false
                }
            };
            std::fs::write(&path, &bytes).expect("written");
            let found = match Store::open(&path).await {
                Ok(store) => {
                    let found = everything(&store).await;
                    store.close().await;
                    found
                }
                Err(error) => {
                    assert_eq!(
                        std::fs::read(&path).expect("a file"),
                        bytes,
                        "changed at {n}"
                    );
                    Err(error)
                }
            };
            match found {
                // what was hit is read by nobody: an unused part of a page
                Ok(found) => {
                    assert!(!must_show && found == kept, "case {n} went by unseen");
                    harmless += 1;
                }
                Err(
                    StoreError::Damaged {
                        backup: offered, ..
                    }
                    | StoreError::Foreign {
                        backup: offered, ..
                    },
                ) => {
                    assert_eq!(offered.as_ref(), Some(&backup));
                    told += 1;
                }
                Err(other) => panic!("case {n}: {other:?}"),
            }
        }
        println!("{told} told, {harmless} without harm");
        assert!(told > 90, "{told} told, {harmless} without harm");
        let new = place.path("restored.db");
        Store::restore(&backup, &new).await.expect("restored");
        let store = Store::open(&new).await.expect("a store");
        assert_eq!(everything(&store).await.expect("read"), kept);
    });
}

async fn everything(store: &Store) -> Result<Vec<String>, StoreError> {
    let mut all = vec![format!("{:?}", store.sites().await?)];
    all.push(store.site(site_id(1)).await?.text);
    for visit in store.visits(site_id(1)).await? {
        all.push(format!("{visit:?}"));
        all.push(format!("{:?}", store.visit(visit.id).await?.entries));
    }
    for n in 0..300 {
        // by its key, too: what a phone sends again must be found
        let said = read(OUTLETS[n % 4], &format!("{n} V"));
        let answer = store
            .append(visit_id(1), key(n as u64), &said, at(0))
            .await?;
        all.push(format!("{answer:?}"));
    }
    Ok(all)
}

#[test]
fn another_file_and_a_lone_log_are_left_alone() {
    wait(async {
        let place = Place::new();
        let (path, text) = (place.store(), "a letter\n".repeat(40));
        std::fs::write(&path, &text).expect("written");
        let refused = Store::open(&path).await.map(drop).expect_err("refused");
        assert!(
            refused
                .to_string()
                .contains("does not begin as a store does"),
            "{refused}"
        );
        assert_eq!(std::fs::read_to_string(&path).expect("a file"), text);
        std::fs::remove_file(&path).expect("removed");
        std::fs::write(place.path("wattwright.db-wal"), "changes").expect("written");
        let refused = Store::open(&path).await.map(drop);
        assert!(
            matches!(refused, Err(StoreError::Damaged { .. })),
            "{refused:?}"
        );
        assert!(!path.exists());
    });
}

#[test]
fn a_store_of_a_newer_version_or_another_program_is_refused() {
    wait(async {
        let place = Place::new();
        let path = place.store();
        clinic(&path).await.close().await;
        let sql =
            "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
            VALUES (9999, 'later', 1, x'00', 0)";
        raw(&path, sql).await;
        let refused = Store::open(&path).await.map(drop).expect_err("refused");
        assert!(
            matches!(refused, StoreError::Newer { found: 9999, .. }),
            "{refused:?}"
        );
        assert!(refused.to_string().contains("newer version"), "{refused}");
        raw(&path, "PRAGMA application_id = 7").await;
        let before = std::fs::read(&path).expect("a file");
        let refused = Store::open(&path).await.map(drop);
        assert!(
            matches!(refused, Err(StoreError::Foreign { .. })),
            "{refused:?}"
        );
        assert_eq!(std::fs::read(&path).expect("a file"), before);
    });
}

async fn raw(path: &Path, sql: &'static str) {
    use sqlx::Connection;
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(path);
    let mut connection = sqlx::SqliteConnection::connect_with(&options)
        .await
        .expect("opened");
    sqlx::raw_sql(sql)
        .execute(&mut connection)
        .await
        .expect("run");
    connection.close().await.expect("closed");
}
