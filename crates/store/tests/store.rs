//! What a store does for those who use it, one thing a test.

mod support;

use store::{Before, Changed, DeviceId, NewAttachment, Revision, Said, Seq, Store, StoreError};
use support::{
    Place, SITE, VISIT, at, clinic, head, key, read, reading, seen, site_id, visit_id, wait,
};
use uuid::Uuid;

#[test]
fn a_site_comes_out_as_it_was_written() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let site = store.site(site_id(1)).await.expect("kept");
        assert_eq!(site.text, SITE);
        assert_eq!(site.document.site.name, "Larkfield Animal Clinic");
        let listed = store.sites().await.expect("listed");
        assert_eq!(listed.len(), 1);
        assert_eq!(listed[0].n_outlets, site.document.site.outlets.len());
        assert_eq!((listed[0].n_visits, listed[0].n_readings), (1, 0));
    });
}

#[test]
fn a_site_that_does_not_read_is_answered_with_its_line_and_not_kept() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let text = SITE.replace("breaker = \"20 A\"", "breaker = \"20\"");
        let refused = store
            .replace_site(site_id(1), &text, Revision(1), at(2))
            .await;
        let Err(StoreError::Problems(problems)) = refused else {
            panic!("{refused:?}");
        };
        assert!(problems.iter().all(|it| it.line.is_some()), "{problems}");
        assert_eq!(store.site(site_id(1)).await.expect("kept").text, SITE);
    });
}

#[test]
fn an_older_revision_can_be_had_back() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let changed = SITE.replace("Reception, behind the printer", "Reception");
        let done = store
            .replace_site(site_id(1), &changed, Revision(1), at(2))
            .await;
        assert_eq!(done.expect("replaced").revision, Revision(2));
        let old = store.site_at(site_id(1), Revision(1)).await.expect("kept");
        assert_eq!(old.text, SITE);
        let undone = store
            .replace_site(site_id(1), &old.text, Revision(2), at(3))
            .await;
        assert_eq!(undone.expect("replaced").revision, Revision(3));
        let revisions = store.revisions(site_id(1)).await.expect("listed");
        let expected = vec![
            (Revision(1), at(0)),
            (Revision(2), at(2)),
            (Revision(3), at(3)),
        ];
        assert_eq!(revisions, expected);
    });
}

#[test]
fn the_second_of_two_editors_has_both_documents() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let first = SITE.replace("Reception, behind the printer", "Reception, left");
        let second = SITE.replace("Reception, behind the printer", "Reception, right");
        let done = store
            .replace_site(site_id(1), &first, Revision(1), at(2))
            .await;
        done.expect("the first one is kept");
        let refused = store
            .replace_site(site_id(1), &second, Revision(1), at(3))
            .await;
        let Err(StoreError::Conflict(conflict)) = refused else {
            panic!("{refused:?}");
        };
        assert_eq!(
            (conflict.expected, conflict.found),
            (Revision(1), Revision(2))
        );
        assert_eq!(conflict.base.as_deref(), Some(SITE));
        assert_eq!((conflict.theirs, conflict.yours), (first.clone(), second));
        assert_eq!(store.site(site_id(1)).await.expect("kept").text, first);
    });
}

#[test]
fn an_outlet_with_readings_of_an_open_visit_does_not_go_away() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        store
            .append(visit_id(1), key(1), &read("lab", "120.3 V"), at(2))
            .await
            .expect("kept");
        let without = SITE.replace("\"lab\"", "\"laboratory\"");
        let refused = store
            .replace_site(site_id(1), &without, Revision(1), at(3))
            .await;
        let Err(StoreError::Breaks { problems, .. }) = refused else {
            panic!("{refused:?}");
        };
        assert!(
            problems.to_string().contains("\"lab\" is not at this site"),
            "{problems}"
        );
        // a closed visit is read with the site of its time
        store.close_visit(visit_id(1), at(4)).await.expect("closed");
        let done = store
            .replace_site(site_id(1), &without, Revision(1), at(5))
            .await;
        done.expect("replaced");
        let visit = store.visit(visit_id(1)).await.expect("kept");
        assert_eq!(visit.site_revision, Revision(1));
        assert_eq!(visit.visit().expect("it reads").readings.len(), 1);
    });
}

#[test]
fn a_reading_that_is_sent_twice_is_kept_once() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let said = read("front-desk", "121.1 V");
        let first = store
            .append(visit_id(1), key(1), &said, at(2))
            .await
            .expect("kept");
        let again = store
            .append(visit_id(1), key(1), &said, at(9))
            .await
            .expect("known");
        assert_eq!((first.before, again.before), (Before::New, Before::Kept));
        assert_eq!(
            (first.seq, &first.id, first.at),
            (again.seq, &again.id, again.at)
        );
        let entries = store.entries(visit_id(1), Seq(0)).await.expect("read");
        assert_eq!(entries.len(), 1);
        let other = read("front-desk", "12.1 V");
        let refused = store.append(visit_id(1), key(1), &other, at(10)).await;
        assert!(
            matches!(refused, Err(StoreError::KeyUsed { seq: Seq(1), .. })),
            "{refused:?}"
        );
        // also when the visit was closed in between: the phone must hear that it was kept
        store
            .close_visit(visit_id(1), at(11))
            .await
            .expect("closed");
        let late = store
            .append(visit_id(1), key(1), &said, at(12))
            .await
            .expect("known");
        assert_eq!(late.before, Before::Kept);
    });
}

#[test]
fn a_correction_names_the_old_reading_by_identifier_or_key() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let slip = store
            .append(visit_id(1), key(1), &read("lab", "12.03 V"), at(2))
            .await;
        let slip = slip.expect("kept");
        let mut right = reading("lab", "120.3 V");
        right.corrects = Some(key(1).to_string());
        let right = Said::Reading(right);
        let kept = store
            .append(visit_id(1), key(2), &right, at(3))
            .await
            .expect("kept");
        let again = store
            .append(visit_id(1), key(2), &right, at(3))
            .await
            .expect("known");
        assert_eq!((again.before, &again.id), (Before::Kept, &kept.id));
        let visit = store.visit(visit_id(1)).await.expect("kept");
        assert_eq!(visit.entries[1].said.corrects(), Some(slip.id.as_str()));
        assert!(
            visit.visit().expect("it reads").readings[1]
                .corrects
                .is_some()
        );

        let mut second = reading("lab", "120.4 V");
        second.corrects = Some(slip.id);
        let refused = store
            .append(visit_id(1), key(3), &Said::Reading(second), at(4))
            .await;
        let Err(StoreError::Corrected { by, .. }) = refused else {
            panic!("{refused:?}");
        };
        assert_eq!(by, kept.id);
        let mut nothing = reading("lab", "120.4 V");
        nothing.corrects = Some("r99".to_owned());
        let refused = store
            .append(visit_id(1), key(4), &Said::Reading(nothing), at(4))
            .await;
        assert!(
            matches!(refused, Err(StoreError::Unknown { .. })),
            "{refused:?}"
        );
    });
}

#[test]
fn a_reading_that_does_not_read_is_answered_and_not_kept() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        for (outlet, value, what) in [
            ("front-dsk", "121.1 V", "did you mean \"front-desk\"?"),
            ("front-desk", "121.1", "unit"),
        ] {
            let refused = store
                .append(visit_id(1), key(1), &read(outlet, value), at(2))
                .await;
            let Err(StoreError::Problems(problems)) = refused else {
                panic!("{refused:?}");
            };
            assert!(problems.to_string().contains(what), "{problems}");
        }
        assert!(
            store
                .entries(visit_id(1), Seq(0))
                .await
                .expect("read")
                .is_empty()
        );
    });
}

#[test]
fn a_closed_visit_takes_nothing_more() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let closed = store.close_visit(visit_id(1), at(2)).await.expect("closed");
        assert_eq!(closed.closed, Some(at(2)));
        let again = store
            .close_visit(visit_id(1), at(3))
            .await
            .expect("still closed");
        assert_eq!(again, closed);
        let reading = store
            .append(visit_id(1), key(1), &read("lab", "120.3 V"), at(4))
            .await;
        let file = NewAttachment {
            place: "lab",
            note: "",
            bytes: b"a note",
        };
        let file = store
            .attach(visit_id(1), key(2), file, at(4))
            .await
            .map(drop);
        let head = store
            .replace_head(visit_id(1), &head(), closed.revision)
            .await;
        for refused in [reading.map(drop), file, head.map(drop)] {
            let said = refused.expect_err("refused").to_string();
            assert!(
                said.contains("closed at") && said.contains("open a new visit"),
                "{said}"
            );
        }
    });
}

#[test]
fn a_visit_file_comes_out_to_the_letter_and_grows_at_its_end() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let imported = store
            .import_visit(visit_id(2), site_id(1), VISIT, at(2))
            .await;
        assert_eq!(imported.expect("the demo reads").number, 2);
        assert_eq!(store.visit_text(visit_id(2)).await.expect("written"), VISIT);
        let kept = store
            .append(visit_id(2), key(1), &read("lab", "120.3 V"), at(3))
            .await;
        let text = store.visit_text(visit_id(2)).await.expect("written");
        let added = text.strip_prefix(VISIT).expect("nothing else changed");
        assert!(
            added.contains(&format!("id = \"{}\"", kept.expect("kept").id)),
            "{added}"
        );
        let visit = store.visit(visit_id(2)).await.expect("kept");
        let n_readings = visit.visit().expect("it reads").readings.len();
        assert_eq!(n_readings, visit.listing.n_readings);
    });
}

#[test]
fn a_visit_follows_the_name_of_its_site() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        store
            .import_visit(visit_id(2), site_id(1), VISIT, at(2))
            .await
            .expect("the demo reads");
        let renamed = SITE.replace("Larkfield Animal Clinic", "Larkfield Surgery");
        store
            .replace_site(site_id(1), &renamed, Revision(1), at(3))
            .await
            .expect("renamed");
        let text = store.visit_text(visit_id(2)).await.expect("written");
        assert_eq!(
            text,
            VISIT.replace("Larkfield Animal Clinic", "Larkfield Surgery")
        );
    });
}

#[test]
fn the_head_of_a_visit_takes_a_meter_more() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        store
            .append(visit_id(1), key(1), &read("lab", "120.3 V"), at(2))
            .await
            .expect("kept");
        let mut more = head();
        more.cannot.push("look-behind-cover".to_owned());
        let changed = store
            .replace_head(visit_id(1), &more, Revision(1))
            .await
            .expect("kept");
        assert_eq!((changed.revision, changed.n_readings), (Revision(2), 1));
        let refused = store.replace_head(visit_id(1), &head(), Revision(1)).await;
        let Err(StoreError::Conflict(conflict)) = refused else {
            panic!("{refused:?}");
        };
        assert!(conflict.theirs.contains("look-behind-cover"));
        // a meter that a reading names does not go away
        let mut named = reading("lab", "120.3 V");
        named.meter = Some("handheld".to_owned());
        let named = Said::Reading(named);
        store
            .append(visit_id(1), key(2), &named, at(3))
            .await
            .expect("kept");
        more.meter.clear();
        let refused = store.replace_head(visit_id(1), &more, Revision(2)).await;
        assert!(
            matches!(refused, Err(StoreError::Problems(_))),
            "{refused:?}"
        );
    });
}

#[test]
fn attachments_are_told_by_their_content_and_kept_once() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let png = b"\x89PNG\r\n\x1a\n and so on".as_slice();
        let new = NewAttachment {
            place: "lab",
            note: "scorched",
            bytes: png,
        };
        let (one, before) = store
            .attach(visit_id(1), key(1), new, at(2))
            .await
            .expect("kept");
        assert_eq!(
            (one.kind.as_str(), one.size, before),
            ("image/png", png.len(), Before::New)
        );
        let (again, before) = store
            .attach(visit_id(1), key(1), new, at(3))
            .await
            .expect("known");
        assert_eq!((again, before), (one.clone(), Before::Kept));
        let elsewhere = NewAttachment {
            place: "circuit:A3",
            ..new
        };
        store
            .attach(visit_id(1), key(2), elsewhere, at(3))
            .await
            .expect("kept");
        let listed = store.attachments(visit_id(1)).await.expect("listed");
        assert_eq!(
            listed.iter().map(|it| it.hash.as_str()).collect::<Vec<_>>(),
            [&one.hash; 2]
        );
        let (_, bytes) = store.attachment(key(1)).await.expect("kept");
        assert_eq!(bytes, png);

        let program = NewAttachment {
            bytes: b"\x7fELF\x02\x01\x01",
            ..new
        };
        let page = NewAttachment {
            bytes: b"<!DOCTYPE html><html><script>",
            ..new
        };
        let picture = NewAttachment {
            bytes: b"GIF89a......",
            ..new
        };
        for refused in [program, page, picture] {
            let refused = store.attach(visit_id(1), key(3), refused, at(4)).await;
            assert!(matches!(refused, Err(StoreError::Kind)), "{refused:?}");
        }
        let large = vec![b'a'; store::LARGEST + 1];
        let large = NewAttachment {
            bytes: &large,
            ..new
        };
        let refused = store.attach(visit_id(1), key(3), large, at(4)).await;
        assert!(
            matches!(refused, Err(StoreError::TooLarge { .. })),
            "{refused:?}"
        );
        let nowhere = NewAttachment {
            place: "cellar",
            ..new
        };
        let refused = store.attach(visit_id(1), key(3), nowhere, at(4)).await;
        assert!(
            matches!(refused, Err(StoreError::Problems(_))),
            "{refused:?}"
        );
    });
}

#[test]
fn whoever_watches_hears_of_a_change_after_it_was_kept() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let mut changes = store.clone().watch();
        store
            .append(visit_id(1), key(1), &seen("lab", "dead"), at(2))
            .await
            .expect("kept");
        let change = changes.recv().await.expect("told");
        let visit = visit_id(1);
        let what = Changed::Entry { visit, seq: Seq(1) };
        assert_eq!((change.site, change.what), (site_id(1), what));
        let refused = store
            .append(visit_id(1), key(2), &seen("nowhere", "dead"), at(2))
            .await;
        refused.expect_err("refused");
        store.close_visit(visit_id(1), at(3)).await.expect("closed");
        let change = changes.recv().await.expect("told");
        assert!(matches!(change.what, Changed::Visit { .. }), "{change:?}");
    });
}

#[test]
fn a_revoked_phone_stays_out() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        let phone = DeviceId(Uuid::from_u128(7));
        store
            .add_device(phone, "Old phone", b"digest", at(2))
            .await
            .expect("paired");
        store.device_seen(phone, at(3)).await.expect("noted");
        let known = store
            .device_of_token(b"digest")
            .await
            .expect("asked")
            .expect("known");
        assert_eq!((known.id, known.last_seen), (phone, Some(at(3))));
        store.revoke_device(phone, at(4)).await.expect("revoked");
        assert_eq!(store.device_of_token(b"digest").await.expect("asked"), None);
        assert_eq!(
            store.devices().await.expect("listed")[0].revoked,
            Some(at(4))
        );
    });
}

#[test]
fn a_backup_is_restored_into_a_new_file_and_never_over_one() {
    wait(async {
        let place = Place::new();
        let store = clinic(&place.store()).await;
        store
            .append(visit_id(1), key(1), &read("lab", "120.3 V"), at(2))
            .await
            .expect("kept");
        let folder = Store::backup_folder(store.path());
        let backup = store.backup(&folder, at(3)).await.expect("backed up");
        assert_eq!(Store::newest_backup(store.path()), Some(backup.clone()));
        store
            .append(visit_id(1), key(2), &read("lab", "120.4 V"), at(4))
            .await
            .expect("kept");
        let refused = Store::restore(&backup, store.path()).await;
        assert!(
            matches!(refused, Err(StoreError::Exists { .. })),
            "{refused:?}"
        );
        let new = place.path("restored.db");
        Store::restore(&backup, &new).await.expect("restored");
        let restored = Store::open(&new).await.expect("a store");
        let entries = restored.entries(visit_id(1), Seq(0)).await.expect("read");
        assert_eq!(
            entries.iter().map(|it| it.key).collect::<Vec<_>>(),
            [key(1)]
        );
    });
}
