//! Receiving, and what is on hand: always the sum of what moved.

use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::labels::{Label, fresh_gtin};
use crate::harness::suite::{findings, judged};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use serde_json::{Value, json};

fn line(suite: &Suite, more: Value) -> Value {
    let mut line = json!({"location_id": suite.shelf});
    for (member, value) in more.as_object().expect("an object") {
        line[member] = value.clone();
    }
    json!({"lines": [line]})
}

#[actix_web::test]
async fn a_box_is_counted_in_units_of_use() {
    let suite = Suite::start().await;
    let (unit, boxed) = (fresh_gtin(), fresh_gtin());
    let identifiers =
        json!([{"agency": "gs1", "code": unit}, {"agency": "gs1", "code": boxed, "quantity": 10}]);
    suite.product(json!({"identifiers": identifiers})).await;
    let receipt = suite
        .receive(&Label::of(&boxed).expiry("281231").lot("A"), 3)
        .await;
    assert_eq!(receipt["lines"][0]["quantity"], 3);
    assert_eq!(receipt["lines"][0]["units"], 30);
    let case = suite.case().await;
    judged(
        &suite
            .scan(&case, &Label::of(&unit).expiry("281231").lot("A"))
            .await,
        "taken",
        &[],
    );
    let stock = suite.circulator.get("/v1/stock").await.expect(200);
    assert_eq!(stock["items"][0]["quantity"], 29);
}

#[actix_web::test]
async fn a_typed_line_is_received_like_a_scanned_one() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let typed =
        json!({"identifier": cannula.gtin, "lot": "A", "expires_on": "2028-12-31", "quantity": 4});
    let receipt = suite
        .materials
        .post("/v1/receipts", &line(&suite, typed))
        .await
        .expect(201);
    let scanned = suite.receive(&cannula.of_lot("A"), 1).await;
    assert_eq!(receipt["lines"][0]["lot_id"], scanned["lines"][0]["lot_id"]);
    let lot = suite
        .circulator
        .get(&format!(
            "/v1/lots/{}",
            text(&scanned["lines"][0], "lot_id")
        ))
        .await
        .expect(200);
    assert_eq!(
        (&lot["received"], &lot["used"], &lot["number"]),
        (&json!(5), &json!(0), &json!("A"))
    );
    assert_eq!(lot["expires_on"], "2028-12-31");
}

#[actix_web::test]
async fn a_short_dated_or_held_lot_is_flagged_at_the_dock_and_still_taken_in() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    // The clock stands at 2026-03-10; the policy's start is 182 days: through 2026-09-08.
    let soon = suite
        .receive(&Label::of(&cannula.gtin).expiry("260908").lot("SOON"), 1)
        .await;
    assert_eq!(findings(&soon["lines"][0]), ["short_dated"]);
    let later = suite
        .receive(&Label::of(&cannula.gtin).expiry("260909").lot("LATER"), 1)
        .await;
    assert_eq!(findings(&later["lines"][0]), Vec::<&str>::new());
    let over = suite
        .receive(&Label::of(&cannula.gtin).expiry("260309").lot("OVER"), 1)
        .await;
    assert_eq!(findings(&over["lines"][0]), ["expired"]);
    suite.hold("lot", &text(&later["lines"][0], "lot_id")).await;
    let held = suite
        .receive(&Label::of(&cannula.gtin).expiry("260909").lot("LATER"), 2)
        .await;
    assert_eq!(findings(&held["lines"][0]), ["on_hold"]);
    assert_eq!(held["lines"][0]["units"], 2);
}

#[actix_web::test]
async fn a_piece_is_counted_once_however_often_it_is_received() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let piece = handpiece.piece("A", "SN-1");
    suite.receive(&piece, 1).await;
    let again = suite.receive(&piece, 1).await;
    assert_eq!(again["lines"][0]["units"], 0);
    assert_eq!(findings(&again["lines"][0]), ["record_differs"]);
    let case = suite.case().await;
    suite.scan(&case, &piece).await;
    let used = suite.receive(&piece, 1).await;
    assert_eq!(used["lines"][0]["units"], 0);
    assert_eq!(findings(&used["lines"][0]), ["already_used"]);
    assert!(suite.stock().await.is_empty());
}

#[actix_web::test]
async fn a_receipt_is_taken_in_whole_or_not_at_all() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let lines = json!({"lines": [
        {"text": cannula.of_lot("A").text(), "quantity": 1, "location_id": suite.shelf},
        {"text": cannula.of_lot("B").text(), "quantity": 1, "location_id": uuid::Uuid::new_v4()},
    ]});
    let problem = suite
        .materials
        .post("/v1/receipts", &lines)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/lines/1/location_id");
    assert!(suite.stock().await.is_empty());
    let listed = suite.materials.get("/v1/receipts").await.expect(200);
    assert_eq!(listed["items"], json!([]));
}

#[actix_web::test]
async fn lines_that_cannot_be_received_are_refused_by_field() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let label = handpiece.piece("A", "SN-1").text();
    let wrong = [
        (json!({}), "/lines/0"),
        (
            json!({"text": label, "identifier": handpiece.gtin}),
            "/lines/0",
        ),
        (json!({"text": label, "quantity": 0}), "/lines/0/quantity"),
        (json!({"text": label, "quantity": 2}), "/lines/0/quantity"),
        (json!({"text": label, "lot": "B"}), "/lines/0/lot"),
        (json!({"text": "no label at all"}), "/lines/0/text"),
        (
            json!({"identifier": "no identifier"}),
            "/lines/0/identifier",
        ),
        (json!({"text": "]C11728123110L2611A"}), "/lines/0"),
    ];
    for (body, pointer) in wrong {
        let problem = suite
            .materials
            .post("/v1/receipts", &line(&suite, body.clone()))
            .await
            .problem(400, "invalid");
        let errors = problem["errors"].as_array().expect("errors");
        assert!(
            errors.iter().any(|error| error["pointer"] == pointer),
            "{body}: {pointer} is not named in {problem}"
        );
    }
    let none = suite
        .materials
        .post("/v1/receipts", &json!({"lines": []}))
        .await;
    none.problem(400, "invalid");
}

#[actix_web::test]
async fn stock_is_listed_first_to_expire_first_and_page_by_page() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    for expiry in ["280630", "270131", "291231", "270228", "281031"] {
        suite
            .receive(&Label::of(&cannula.gtin).expiry(expiry).lot(expiry), 1)
            .await;
    }
    let mut seen = Vec::new();
    let mut path = "/v1/stock?limit=2".to_owned();
    loop {
        let page = suite.circulator.get(&path).await.expect(200);
        seen.extend(
            page["items"]
                .as_array()
                .expect("items")
                .iter()
                .map(|item| text(item, "lot")),
        );
        let Some(next) = page["next"].as_str() else {
            break;
        };
        path = format!("/v1/stock?limit=2&cursor={next}");
    }
    assert_eq!(seen, ["270131", "270228", "280630", "281031", "291231"]);
    let outdated = suite
        .circulator
        .get("/v1/stock?expires_before=2028-01-01")
        .await
        .expect(200);
    assert_eq!(outdated["items"].as_array().map(Vec::len), Some(2));
}

/// Whatever happens, what is on hand is the sum of the movements, and a piece stands where its
/// movements say.
#[actix_web::test]
async fn after_any_sequence_of_operations_stock_is_the_sum_of_its_movements() {
    let seed = rand::random();
    eprintln!("seed {seed}");
    let mut random = StdRng::seed_from_u64(seed);
    let suite = Suite::start().await;
    let (cannula, handpiece) = (suite.cannula().await, suite.handpiece().await);
    let mut cases = vec![suite.case().await, suite.case().await];
    // Scans that put something on a case, by case.
    let mut taken: Vec<(String, Value)> = Vec::new();
    let places = [suite.shelf.clone(), suite.room.clone()];
    for _ in 0..160 {
        let lot = ["A", "B", "C"][random.random_range(0..3)];
        let serial = format!("{lot}{}", random.random_range(0..3));
        let label = if random.random() {
            cannula.of_lot(lot)
        } else {
            handpiece.piece(lot, &serial)
        };
        let case = cases[random.random_range(0..cases.len())].clone();
        match random.random_range(0..14) {
            10..=11 => {
                // Refused when it stands at both places, or at neither.
                let to = &places[random.random_range(0..2)];
                let body = json!({"item": {"text": label.text()}, "to_id": to});
                let reply = suite.materials.post("/v1/stock/moves", &body).await;
                assert!(matches!(reply.status, 201 | 400), "{}", reply.text());
            }
            12 => count_and_adjust(&suite, &places[random.random_range(0..2)], &mut random).await,
            13 => sweep_one(&suite, &mut random).await,
            0..=1 => {
                let quantity = if label.serial.is_some() {
                    1
                } else {
                    random.random_range(1..4)
                };
                suite.receive(&label, quantity).await;
            }
            2..=6 => {
                let body = json!({"text": label.text(), "another_piece": random.random::<bool>()});
                let scan = suite.scan_body(&case, &body).await;
                if scan["item"].is_object() {
                    taken.push((case, scan));
                }
            }
            7 if !taken.is_empty() => {
                let (case, scan) = taken.swap_remove(random.random_range(0..taken.len()));
                let path = format!("/v1/cases/{case}/scans/{}/strike", text(&scan, "id"));
                suite
                    .circulator
                    .post(&path, &json!({"reason": "A random strike"}))
                    .await
                    .expect(200);
            }
            8 if !taken.is_empty() => {
                let at = random.random_range(0..taken.len());
                let (case, scan) = &taken[at];
                let disposition = ["used", "wasted", "opened_unused", "returned", "failed"]
                    [random.random_range(0..5)];
                let path = format!("/v1/cases/{case}/scans/{}", text(scan, "id"));
                let shown = suite.circulator.get(&path).await.expect(200);
                let version = shown["item"]["version"].as_i64().expect("a version");
                let body = json!({"disposition": disposition, "reason": "A random disposition"});
                let reply = suite
                    .circulator
                    .put(&format!("{path}/disposition"), version, &body)
                    .await;
                assert!(matches!(reply.status, 200 | 409), "{}", reply.text());
            }
            _ => cases.push(suite.case().await),
        }
        check_sums(&suite).await;
    }
}

/// Counts a place, finds a few more or fewer of each, and takes some differences into the record.
async fn count_and_adjust(suite: &Suite, place: &str, random: &mut StdRng) {
    let path = format!("/v1/locations/{place}/sheet");
    let sheet = suite.materials.get(&path).await.expect(200);
    let lines = sheet["lines"].as_array().expect("lines").iter();
    let found: Vec<Value> = lines
        .map(|line| {
            let expected = line["expected"].as_i64().expect("a number");
            let piece = line["unit_id"].is_string();
            let counted = if piece {
                random.random_range(0..=1)
            } else {
                expected - 1 + random.random_range(0..3)
            };
            let mut item = json!({"lot_id": line["lot_id"]});
            if piece {
                item["unit_id"] = line["unit_id"].clone();
            }
            json!({"item": item, "counted": counted})
        })
        .collect();
    let path = format!("/v1/locations/{place}/counts");
    let count = suite
        .materials
        .post(&path, &json!({"lines": found}))
        .await
        .expect(201);
    for line in count["lines"].as_array().expect("lines") {
        if line["difference"] == 0 || random.random() {
            continue;
        }
        let path = format!("/v1/counts/{}/adjust", text(&count, "id"));
        let body = json!({"lines": [line["line"]], "reason": "A random difference"});
        suite.materials.post(&path, &body).await.expect(201);
    }
}

/// Sweeps one lot off one place, past its outdate or not.
async fn sweep_one(suite: &Suite, random: &mut StdRng) {
    let stock = suite.materials.get("/v1/stock?limit=200").await.expect(200);
    let stock = stock["items"].as_array().expect("items");
    let Some(row) = (!stock.is_empty()).then(|| &stock[random.random_range(0..stock.len())]) else {
        return;
    };
    let one = json!({"lot_id": row["lot_id"], "location_id": row["location_id"]});
    let mut body = json!({"within_days": 366, "stock": [one], "disposition": "sent_back", "note": "1Z999AA10123456784"});
    // The labels' outdate is the end of 2028, beyond any sweep.
    let reply = suite.materials.post("/v1/stock/sweeps", &body).await;
    reply.problem(400, "invalid");
    suite
        .service
        .site
        .database
        .rows("UPDATE lots SET expires_on = '2026-03-09'")
        .await;
    if random.random() {
        body["disposition"] = json!("destroyed");
        body["witness_id"] = json!(suite.compliance.person);
    }
    suite
        .materials
        .post("/v1/stock/sweeps", &body)
        .await
        .expect(201);
    suite
        .service
        .site
        .database
        .rows("UPDATE lots SET expires_on = '2028-12-31'")
        .await;
}

async fn check_sums(suite: &Suite) {
    let differing = "SELECT coalesce(l.lot_id, m.lot_id), l.quantity, m.quantity FROM \
         (SELECT lot_id, location_id, quantity FROM stock_levels WHERE quantity <> 0) l FULL JOIN \
         (SELECT lot_id, location_id, sum(quantity) AS quantity FROM movements GROUP BY 1, 2 HAVING sum(quantity) <> 0) m \
         USING (lot_id, location_id) WHERE l.quantity IS DISTINCT FROM m.quantity";
    let database = &suite.service.site.database;
    let differing = database.rows(differing).await;
    assert!(
        differing.is_empty(),
        "stock is not the sum of its movements: {differing:?}"
    );
    // A piece on hand by its movements is not claimed, none is on hand twice, and one that is neither
    // left the site or was not found.
    let misplaced = "SELECT m.unit_id, sum(m.quantity) FROM movements m LEFT JOIN uses c ON c.unit_id = m.unit_id AND c.claims_unit \
         WHERE m.unit_id IS NOT NULL GROUP BY m.unit_id, c.unit_id \
         HAVING sum(m.quantity) NOT IN (0, 1) OR (sum(m.quantity) = 1 AND c.unit_id IS NOT NULL) \
         OR (sum(m.quantity) = 0 AND c.unit_id IS NULL \
             AND count(*) FILTER (WHERE m.kind IN ('sent_back', 'destroyed', 'adjusted')) = 0)";
    let misplaced = database.rows(misplaced).await;
    assert!(
        misplaced.is_empty(),
        "pieces are on hand and claimed, or neither, or twice: {misplaced:?}"
    );
    // Every unit of a lot is accounted for, by what the receipts, the cases and the shelf's own rows
    // say: received = on hand + on cases + sent back + destroyed + what counts did not find.
    let unaccounted = "SELECT l.id FROM lots l WHERE \
         (SELECT coalesce(sum(quantity), 0) FROM receipt_lines WHERE lot_id = l.id) \
         <> (SELECT coalesce(sum(quantity), 0) FROM stock_levels WHERE lot_id = l.id) \
          + (SELECT count(*) FROM uses WHERE lot_id = l.id AND drawn_from IS NOT NULL AND struck_at IS NULL AND disposition <> 'returned') \
          - (SELECT coalesce(sum(quantity), 0) FROM shelf_movements WHERE lot_id = l.id AND kind IN ('sent_back', 'destroyed')) \
          - (SELECT coalesce(sum(c.counted - c.expected), 0) FROM shelf_count_lines c JOIN shelf_adjustments USING (count_id, line) WHERE c.lot_id = l.id)";
    let unaccounted = database.rows(unaccounted).await;
    assert!(
        unaccounted.is_empty(),
        "units are not accounted for: {unaccounted:?}"
    );
}
