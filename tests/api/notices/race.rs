//! Two services on one database: a scan that races a notice ends on one side or the other.

use super::{add, criterion, matches};
use crate::harness::client::text;
use crate::harness::suite::{findings, on_case};
use crate::harness::{Client, Service, Suite};
use futures_util::future::{join, join_all};
use serde_json::json;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Scans that race one confirmation.
const SCANS: usize = 60;
const ROUNDS: usize = 5;

#[actix_web::test]
async fn a_scan_racing_a_notice_is_in_its_matches_or_was_stopped_by_it() {
    let suite = Suite::start().await;
    let second = Service::on(Arc::clone(&suite.service.site), 1_000_000).await;
    let other = Client {
        base: second.base.clone(),
        ..suite.circulator.clone()
    };
    let (mut before, mut after) = (0, 0);
    for round in 0..ROUNDS {
        let cannula = suite.cannula().await;
        let label = cannula.of_lot("L1");
        suite.receive(&label, 1_000).await;
        let cases = join_all((0..SCANS).map(|_| suite.case())).await;
        let notice = add(&suite, &format!("FSN-{round}"), "Lot L1").await;
        let scans = cases.iter().enumerate().map(|(at, case)| {
            let caller = [&suite.circulator, &other][at % 2].clone();
            let (path, body) = (
                format!("/v1/cases/{case}/scans"),
                json!({"text": label.text()}),
            );
            async move {
                tokio::time::sleep(std::time::Duration::from_micros(at as u64 * 700)).await;
                caller.post(&path, &body).await.expect(201)
            }
        });
        let path = format!("/v1/notices/{}/confirm", text(&notice, "id"));
        let criteria = json!([criterion(&cannula, json!({"lots": ["L1"]}))]);
        let body = json!({"criteria": criteria, "settles_unread": true});
        let confirm = async {
            tokio::time::sleep(std::time::Duration::from_millis(15)).await;
            suite.materials.change(&path, 1, &body).await.expect(200)
        };
        let (scans, confirmed) = join(join_all(scans), confirm).await;
        let found = matches(&suite, &notice).await;
        let items = found["items"].as_array().expect("items").iter();
        let items: BTreeSet<String> = items.map(|item| text(item, "scan_id")).collect();
        let line = confirmed["entry"]["position"].as_u64();
        for scan in &scans {
            let taken = on_case(scan);
            assert_ne!(taken, findings(scan).contains(&"recalled"), "{scan}");
            assert_eq!(taken, items.contains(&text(scan, "id")), "{scan}");
            // The ledger has one order, and the notice stands in it at one place.
            assert_eq!(taken, scan["entry"]["position"].as_u64() < line, "{scan}");
        }
        before += items.len();
        after += scans.len() - items.len();
        assert_eq!(confirmed["counts"]["affected"], items.len());
    }
    assert!(
        before > 0 && after > 0,
        "no race: {before} before, {after} after"
    );
    crate::conformance::chain::holds(&suite.service, suite.service.site.facility).await;
    drop(second);
}
