//! What a notice hits, against a matcher of another kind: it looks at every row with plain
//! comparisons and knows nothing of the service's criteria, indexes or queries.

mod brute;
mod history;

use super::matches;
use crate::harness::Suite;
use crate::harness::client::text;
use brute::Found;
use futures_util::StreamExt;
use history::{History, Random};
use lotwarden_domain::access::{Grant, act};
use lotwarden_domain::notices::NoticeSource;
use lotwarden_store::notices::{
    AddNotice, ConfirmNotice, ListMatches, MatchList, NewNotice, Notice,
};
use lotwarden_store::{Receipt, Rendered, Request};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};
use uuid::Uuid;

/// Random histories; each with a product, its lots, pieces, uses, mixes, fills, cycles, stock, and
/// a notice. `LOTWARDEN_ORACLE_HISTORIES` and `LOTWARDEN_ORACLE_SEED` ask for others.
const HISTORIES: usize = 1_000;
/// Operations under way at once.
const AT_ONCE: usize = 48;

#[actix_web::test]
async fn over_random_histories_a_notice_hits_what_a_brute_force_matcher_finds() {
    let suite = Suite::start().await;
    let mut patients = Vec::new();
    for number in 0..6 {
        let case = suite
            .case_of(&format!("MRN-{number}"), "Example, Robin")
            .await;
        patients.push(text(&suite.show(&case).await, "patient_id"));
    }
    let count = asked_for("LOTWARDEN_ORACLE_HISTORIES", HISTORIES as u64) as usize;
    let seed = asked_for("LOTWARDEN_ORACLE_SEED", 20_261_129);
    let mut random = Random::new(seed);
    let site = history::Site::of(&suite, patients);
    let histories: Vec<History> = (0..count)
        .map(|number| History::make(&mut random, &site, number))
        .collect();
    history::write(&suite, &site, &histories).await;
    let asked = futures_util::stream::iter(&histories).map(|history| ask(&suite, history));
    let answers: Vec<Found> = asked.buffered(AT_ONCE).collect().await;
    let (mut hits, mut ways, mut unscanned) = (0, 0, BTreeMap::new());
    let mut classes = BTreeMap::new();
    for (history, answer) in histories.iter().zip(answers) {
        let expected = brute::find(history);
        assert_eq!(answer, expected, "{history:#?}");
        hits += usize::from(!expected.items.is_empty());
        for (witness, ..) in &expected.unscanned {
            *unscanned.entry(*witness).or_insert(0) += 1;
        }
        for (class, through) in expected.items.values() {
            ways += through.len();
            *classes.entry(*class).or_insert(0) += 1;
        }
    }
    println!(
        "{count} histories from seed {seed}: {hits} with items on cases, {classes:?}; {ways} mixes, \
         fills and loads between; without a scan that stands {unscanned:?}"
    );
    assert!(hits > count / 2, "most histories hit nothing: {hits}");
    assert_eq!(unscanned.len(), 3, "a way never came up: {unscanned:?}");
    assert_eq!(classes.len(), 3, "a class never came up: {classes:?}");
}

fn asked_for(variable: &str, otherwise: u64) -> u64 {
    let asked = std::env::var(variable).ok();
    asked.map_or(otherwise, |text| text.parse().expect(variable))
}

/// Takes in the history's notice, confirms it, and asks what it hits.
async fn ask(suite: &Suite, history: &History) -> Found {
    let facility = suite.service.site.facility;
    let recorder = &suite.service.app.recorder;
    let nothing = || Rendered {
        status: 200,
        body: Vec::new(),
        etag: None,
    };
    let operation = AddNotice {
        notice: NewNotice {
            firm: "Invented Instruments".to_owned(),
            reference: history.reference.clone(),
            class: None,
            source: NoticeSource::Letter,
            status: None,
            received_on: None,
            product: String::new(),
            reason: String::new(),
            text: String::new(),
            also_named: Vec::new(),
        },
        follows: None,
    };
    let grant: Grant<act::AddNotice> = Grant::to_operator("test", facility);
    let added = recorder.record(&grant, Request::default(), operation, move |notice, _| {
        Rendered {
            body: notice_id(notice),
            ..nothing()
        }
    });
    let added = added.await.expect("it is taken in").rendered.body;
    let id = Uuid::from_slice(&added).expect("an id");
    let operation = ConfirmNotice {
        id,
        version: 1,
        criteria: history.criteria.iter().map(|one| one.confirmed()).collect(),
        open: history.open,
    };
    let grant: Grant<act::ConfirmNotice> = Grant::to_operator("test", facility);
    let confirmed = recorder.record(&grant, Request::default(), operation, move |_, _| nothing());
    confirmed.await.expect("it is confirmed");
    let key = recorder.facility(facility).await.expect("a facility");
    let operation = ListMatches {
        notice: id,
        facility_key: key.key(recorder.master()).expect("its key"),
    };
    let found: Arc<Mutex<Option<Found>>> = Arc::default();
    let kept = Arc::clone(&found);
    let grant: Grant<act::ListMatches> = Grant::to_operator("test", facility);
    let listed = recorder.record(
        &grant,
        Request::default(),
        operation,
        move |list: &MatchList, _: Receipt| {
            *kept.lock().expect("a lock") = Some(Found::of(list));
            nothing()
        },
    );
    listed.await.expect("it is answered");
    let found = found.lock().expect("a lock").take();
    found.expect("an answer")
}

fn notice_id(notice: &Notice) -> Vec<u8> {
    notice.id.as_bytes().to_vec()
}

// Concurrent scanning, receiving, striking and confirming, and then every row looked at.
#[actix_web::test]
async fn no_use_is_missed_while_people_scan_receive_strike_and_confirm_at_once() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let lots = ["L1", "l1", "L2", "L3"];
    for lot in lots {
        suite.receive(&cannula.of_lot(lot), 200).await;
    }
    let work = (0..12).map(|worker| {
        let (suite, cannula) = (&suite, &cannula);
        async move {
            for round in 0..12 {
                let lot = lots[(worker + round) % lots.len()];
                let case = suite.case().await;
                let scan = suite.scan(&case, &cannula.of_lot(lot)).await;
                match (worker * 7 + round) % 5 {
                    0 => {
                        suite.receive(&cannula.of_lot(lot), 2).await;
                    }
                    1 => {
                        suite.strike(&case, &text(&scan, "id")).await;
                    }
                    _ => {}
                }
            }
        }
    });
    let notices = async {
        let mut all = Vec::new();
        for (number, lot) in ["L1", "L3"].into_iter().enumerate() {
            tokio::time::sleep(std::time::Duration::from_millis(250)).await;
            let reference = format!("FSN-{number}");
            all.push((
                lot,
                super::recall(&suite, &reference, &cannula, &[lot]).await,
            ));
        }
        all
    };
    let (_, notices) =
        futures_util::future::join(futures_util::future::join_all(work), notices).await;
    let database = &suite.service.site.database;
    for (lot, notice) in notices {
        let expected = database
            .column(&format!(
                "SELECT scan_id FROM uses JOIN lots ON lots.id = lot_id \
                 WHERE upper(number) = '{lot}' AND struck_at IS NULL ORDER BY 1"
            ))
            .await;
        let found = matches(&suite, &notice).await;
        let items = found["items"].as_array().expect("items").iter();
        let items: Vec<String> = items.map(|item| text(item, "scan_id")).collect();
        assert_eq!(items, expected, "{lot}");
        assert!(!items.is_empty(), "{lot} was never taken before its notice");
        let line = notice["entry"]["position"].to_string();
        let after = database
            .column(&format!(
                "SELECT count(*) FROM uses u JOIN scans s ON s.case_id = u.case_id AND s.id = u.scan_id \
                 JOIN lots ON lots.id = u.lot_id WHERE upper(number) = '{lot}' AND s.position > {line}"
            ))
            .await;
        assert_eq!(after, ["0"], "{lot} was put on a case after its notice");
        let shelf = database
            .column(&format!(
                "SELECT coalesce(sum(quantity), 0) FROM stock_levels JOIN lots ON lots.id = lot_id \
                 WHERE upper(number) = '{lot}'"
            ))
            .await;
        assert_eq!(found["counts"]["on_hand"].to_string(), shelf[0]);
    }
    crate::conformance::chain::holds(&suite.service, suite.service.site.facility).await;
}
