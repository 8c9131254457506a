//! A backup in the place of a store: the old one stays, whatever state it is in.

mod support;

use std::fs;

use store::{Seq, Store, StoreError};
use support::{OUTLETS, Place, at, clinic, key, read, site_id, visit_id, wait};

async fn n_rows(path: &std::path::Path) -> usize {
    let store = Store::open(path).await.expect("a sound store");
    let n = store
        .entries(visit_id(1), Seq(0))
        .await
        .expect("read")
        .len();
    store.close().await;
    n
}

#[test]
fn a_backup_is_put_back_and_what_stood_there_stays_whole() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let tell = async |n: u64| {
            let said = read(OUTLETS[0], &format!("{n} V"));
            store
                .append(visit_id(1), key(n), &said, at(0))
                .await
                .expect("kept");
        };
        tell(1).await;
        let folder = Store::backup_folder(store.path());
        let backup = store.backup(&folder, at(1)).await.expect("a backup");
        tell(2).await;
        store.close().await;
        assert_eq!(
            Store::backups(&place.store()),
            std::slice::from_ref(&backup)
        );
        // twice within a second: each has a name of its own
        let first = Store::put_back(&backup, &place.store(), at(2))
            .await
            .expect("put back");
        assert_eq!((n_rows(&place.store()).await, n_rows(&first).await), (1, 2));
        let second = Store::put_back(&backup, &place.store(), at(2))
            .await
            .expect("put back");
        assert_ne!(first, second);
        assert_eq!((n_rows(&first).await, n_rows(&second).await), (2, 1));
        let store = Store::open(&place.store()).await.expect("a store");
        assert!(store.site(site_id(1)).await.is_ok());
        store.close().await;
    });
}

#[test]
fn a_damaged_store_is_kept_with_its_log_and_a_damaged_backup_is_refused() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let folder = Store::backup_folder(store.path());
        let backup = store.backup(&folder, at(1)).await.expect("a backup");
        store.close().await;
        let broken = b"no store at all".to_vec();
        let log = place.store().with_file_name(format!(
            "{}-wal",
            place.store().file_name().expect("a name").to_string_lossy()
        ));
        fs::write(place.store(), &broken).expect("written");
        fs::write(&log, b"changes").expect("written");
        let kept = Store::put_back(&backup, &place.store(), at(2))
            .await
            .expect("put back");
        assert_eq!(fs::read(&kept).expect("kept"), broken);
        let mut beside = kept.clone().into_os_string();
        beside.push("-wal");
        assert_eq!(fs::read(beside).expect("kept"), b"changes");
        assert_eq!(n_rows(&place.store()).await, 0);

        let before = fs::read(place.store()).expect("read");
        fs::write(&backup, &broken).expect("written");
        let refused = Store::put_back(&backup, &place.store(), at(3)).await;
        assert!(
            matches!(refused, Err(StoreError::Damaged { .. })),
            "{refused:?}"
        );
        assert_eq!(
            fs::read(place.store()).expect("read"),
            before,
            "nothing was moved"
        );
    });
}
