//! Moves, counts and sweeps of the shelf.

use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::labels::Label;
use crate::harness::suite::{add_location, judged};
use lotwarden_domain::access::Role;
use lotwarden_domain::label::place;
use serde_json::{Value, json};

/// The label of a place as a scanner sends it (GS1 General Specifications 3.9.11, AI 91).
fn place_label(id: &str) -> String {
    let (key, digits) = place::element(id.parse().expect("an id"));
    format!("]d2{key}{digits}")
}

async fn quantity_at(suite: &Suite, place: &str) -> i64 {
    let path = format!("/v1/stock?location_id={place}");
    let stock = suite.materials.get(&path).await.expect(200);
    let rows = stock["items"].as_array().expect("items").iter();
    rows.map(|row| row["quantity"].as_i64().expect("a number"))
        .sum()
}

#[actix_web::test]
async fn an_item_is_moved_by_scanning_it_and_then_the_place() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 5).await;
    let body = json!({
        "item": {"text": cannula.of_lot("A").text()}, "quantity": 2, "to_text": place_label(&suite.room),
    });
    let moved = suite.circulator.post("/v1/stock/moves", &body).await;
    let moved = moved.expect(201);
    assert_eq!(
        (text(&moved, "from_id"), text(&moved, "to_id")),
        (suite.shelf.clone(), suite.room.clone())
    );
    assert_eq!(moved["quantity"], 2);
    assert_eq!(quantity_at(&suite, &suite.shelf).await, 3);
    assert_eq!(quantity_at(&suite, &suite.room).await, 2);
    // A second time it stands at two places, and somebody has to say which.
    let shelf =
        json!({"item": {"text": cannula.of_lot("A").text()}, "to_text": place_label(&suite.room)});
    let dock = add_location(&suite.materials, "Dock", "dock").await;
    let mut third = shelf.clone();
    third["to_text"] = json!(place_label(&dock));
    let problem = suite.circulator.post("/v1/stock/moves", &third).await;
    assert_eq!(
        problem.problem(400, "invalid")["errors"][0]["pointer"],
        "/from_id"
    );
    third["from_id"] = json!(suite.room);
    suite
        .circulator
        .post("/v1/stock/moves", &third)
        .await
        .expect(201);
}

#[actix_web::test]
async fn a_box_is_moved_in_units_of_use() {
    let suite = Suite::start().await;
    let boxed = crate::harness::labels::fresh_gtin();
    let unit = crate::harness::labels::fresh_gtin();
    let identifiers =
        json!([{"agency": "gs1", "code": unit}, {"agency": "gs1", "code": boxed, "quantity": 10}]);
    suite.product(json!({"identifiers": identifiers})).await;
    let label = Label::of(&boxed).expiry("281231").lot("A");
    suite.receive(&label, 3).await;
    let body = json!({"item": {"text": label.text()}, "quantity": 2, "to_id": suite.room});
    let moved = suite
        .materials
        .post("/v1/stock/moves", &body)
        .await
        .expect(201);
    assert_eq!(moved["quantity"], 20);
    assert_eq!(quantity_at(&suite, &suite.shelf).await, 10);
}

#[actix_web::test]
async fn a_piece_goes_where_it_is_moved_and_is_drawn_from_there() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let piece = handpiece.piece("A", "1");
    suite.receive(&piece, 1).await;
    let body = json!({"item": {"text": piece.text()}, "to_id": suite.room});
    suite
        .materials
        .post("/v1/stock/moves", &body)
        .await
        .expect(201);
    let again = suite.materials.post("/v1/stock/moves", &body).await;
    assert_eq!(
        again.problem(400, "invalid")["errors"][0]["pointer"],
        "/to_id"
    );
    let case = suite.case().await;
    let scan = suite.scan(&case, &piece).await;
    judged(&scan, "taken", &[]);
    assert_eq!(scan["item"]["drawn_from_id"], json!(suite.room));
    // It is on a case: there is nothing left to move.
    let body = json!({"item": {"text": piece.text()}, "to_id": suite.shelf});
    let gone = suite.materials.post("/v1/stock/moves", &body).await;
    assert_eq!(
        gone.problem(400, "invalid")["errors"][0]["pointer"],
        "/quantity"
    );
}

#[actix_web::test]
async fn a_piece_that_came_back_and_was_moved_is_used_from_where_it_stands() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let (piece, other) = (handpiece.piece("A", "1"), handpiece.piece("A", "2"));
    suite.receive(&piece, 1).await;
    suite.receive(&other, 1).await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &piece).await;
    let back = suite.dispose(&case, &scan, "returned").await;
    let body = json!({"item": {"text": piece.text()}, "to_id": suite.room});
    suite
        .materials
        .post("/v1/stock/moves", &body)
        .await
        .expect(201);
    let stock = async || {
        (
            quantity_at(&suite, &suite.shelf).await,
            quantity_at(&suite, &suite.room).await,
        )
    };
    assert_eq!(stock().await, (1, 1));
    suite.dispose(&case, &back, "used").await;
    assert_eq!(stock().await, (1, 0));
    suite.strike(&case, &text(&scan, "id")).await;
    assert_eq!(stock().await, (1, 1));
}

#[actix_web::test]
async fn what_cannot_be_moved_is_refused_by_field() {
    let suite = Suite::start().await;
    let (cannula, handpiece) = (suite.cannula().await, suite.handpiece().await);
    suite.receive(&cannula.of_lot("A"), 1).await;
    suite.receive(&handpiece.piece("A", "1"), 1).await;
    let label = json!({"text": cannula.of_lot("A").text()});
    let wrong = [
        (
            json!({"item": {"text": cannula.of_lot("B").text()}, "to_id": suite.room}),
            "/item",
        ),
        (
            json!({"item": {"text": "nonsense"}, "to_id": suite.room}),
            "/item/text",
        ),
        (json!({"item": {}, "to_id": suite.room}), "/item"),
        (
            json!({"item": label, "to_id": uuid::Uuid::new_v4()}),
            "/to_id",
        ),
        (json!({"item": label}), "/to_id"),
        (json!({"item": label, "to_text": "nonsense"}), "/to_text"),
        (
            json!({"item": label, "to_id": suite.room, "quantity": 2}),
            "/quantity",
        ),
        (
            json!({"item": label, "to_id": suite.room, "quantity": 0}),
            "/quantity",
        ),
        (
            json!({"item": {"text": handpiece.piece("A", "1").text()}, "to_id": suite.room, "quantity": 2}),
            "/quantity",
        ),
    ];
    let before = suite.stock().await;
    for (body, pointer) in wrong {
        let problem = suite.materials.post("/v1/stock/moves", &body).await;
        let problem = problem.problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer, "{body}");
    }
    assert_eq!(suite.stock().await, before);
}

/// The sheet of a place and the count of it, with the numbers that were found by lot or serial.
async fn count(suite: &Suite, found: &[(&Label, u32)]) -> Value {
    let lines: Vec<Value> = found
        .iter()
        .map(|(label, counted)| json!({"item": {"text": label.text()}, "counted": counted}))
        .collect();
    let path = format!("/v1/locations/{}/counts", suite.shelf);
    let count = suite.circulator.post(&path, &json!({"lines": lines})).await;
    count.expect(201)
}

#[actix_web::test]
async fn a_count_names_each_difference_and_changes_nothing_until_it_is_taken_over() {
    let suite = Suite::start().await;
    let (cannula, handpiece) = (suite.cannula().await, suite.handpiece().await);
    let (one, other) = (handpiece.piece("A", "1"), handpiece.piece("A", "2"));
    suite.receive(&cannula.of_lot("A"), 12).await;
    suite.receive(&one, 1).await;
    suite.receive(&other, 1).await;
    let sheet = format!("/v1/locations/{}/sheet", suite.shelf);
    let sheet = suite.circulator.get(&sheet).await.expect(200);
    let expected: Vec<_> = sheet["lines"]
        .as_array()
        .expect("lines")
        .iter()
        .map(|line| (line["serial"].as_str(), line["expected"].as_i64()))
        .collect();
    assert_eq!(expected.len(), 3, "{sheet}");
    assert!(expected.contains(&(None, Some(12))) && expected.contains(&(Some("1"), Some(1))));
    // Found twice is found as often; the second piece was not found.
    let a = cannula.of_lot("A");
    let counted = count(&suite, &[(&a, 6), (&one, 1), (&a, 5)]).await;
    assert_eq!(counted["open_differences"], 2);
    let differences: Vec<_> = counted["lines"]
        .as_array()
        .expect("lines")
        .iter()
        .filter(|line| line["difference"] != 0)
        .collect();
    let of = |serial: Option<&str>| {
        *differences
            .iter()
            .find(|line| line["serial"].as_str() == serial)
            .expect("a difference")
    };
    assert_eq!(
        (
            &of(None)["expected"],
            &of(None)["counted"],
            &of(None)["difference"]
        ),
        (&json!(12), &json!(11), &json!(-1))
    );
    assert_eq!(of(Some("2"))["difference"], -1);
    assert_eq!(quantity_at(&suite, &suite.shelf).await, 14);

    let path = format!("/v1/counts/{}/adjust", text(&counted, "id"));
    let lines = json!([of(None)["line"], of(Some("2"))["line"]]);
    let body = json!({"lines": lines, "reason": "Not found after a search"});
    suite
        .circulator
        .post(&path, &body)
        .await
        .problem(403, "forbidden");
    let adjusted = suite.materials.post(&path, &body).await.expect(201);
    assert_eq!(adjusted["open_differences"], 0);
    assert_eq!(quantity_at(&suite, &suite.shelf).await, 12);
    suite
        .materials
        .post(&path, &body)
        .await
        .problem(409, "already-done");
    let lot = format!("/v1/lots/{}", text(of(None), "lot_id"));
    let lot = suite.materials.get(&lot).await.expect(200);
    assert_eq!(
        (
            &lot["received"],
            &lot["adjusted"],
            &lot["on_hand"][0]["quantity"]
        ),
        (&json!(12), &json!(-1), &json!(11))
    );
    let agreeing = json!({"lines": [1, 2, 3], "reason": "Nothing differs here"});
    let path = format!(
        "/v1/counts/{}/adjust",
        text(&count(&suite, &[(&a, 11), (&one, 1)]).await, "id")
    );
    suite
        .materials
        .post(&path, &agreeing)
        .await
        .problem(400, "invalid");
}

#[actix_web::test]
async fn a_piece_that_is_found_comes_back_unless_the_record_has_it_elsewhere() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let (lost, used) = (handpiece.piece("A", "1"), handpiece.piece("A", "2"));
    suite.receive(&lost, 1).await;
    suite.receive(&used, 1).await;
    let adjust = async |counted: &Value| {
        let lines: Vec<_> = counted["lines"]
            .as_array()
            .expect("lines")
            .iter()
            .filter(|line| line["difference"] != 0)
            .map(|line| line["line"].clone())
            .collect();
        let path = format!("/v1/counts/{}/adjust", text(counted, "id"));
        suite
            .materials
            .post(
                &path,
                &json!({"lines": lines, "reason": "As the shelf shows"}),
            )
            .await
    };
    adjust(&count(&suite, &[(&used, 1)]).await)
        .await
        .expect(201);
    assert_eq!(quantity_at(&suite, &suite.shelf).await, 1);
    // Not on the shelf by the record: a scan says so, and the piece goes on.
    adjust(&count(&suite, &[(&used, 1), (&lost, 1)]).await)
        .await
        .expect(201);
    assert_eq!(quantity_at(&suite, &suite.shelf).await, 2);
    let case = suite.case().await;
    judged(&suite.scan(&case, &used).await, "taken", &[]);
    let found = count(&suite, &[(&used, 1), (&lost, 1)]).await;
    adjust(&found).await.problem(409, "differs");
}

#[actix_web::test]
async fn stock_that_was_used_since_the_count_is_counted_again() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 1).await;
    let counted = count(&suite, &[]).await;
    let case = suite.case().await;
    suite.scan(&case, &cannula.of_lot("A")).await;
    let path = format!("/v1/counts/{}/adjust", text(&counted, "id"));
    let body = json!({"lines": [1], "reason": "Not found after a search"});
    suite
        .materials
        .post(&path, &body)
        .await
        .problem(409, "not-on-shelf");
}

#[actix_web::test]
async fn a_sweep_takes_what_is_past_or_within_days_and_nothing_else() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    // The clock stands at 2026-03-10.
    let mut rows = Vec::new();
    for (lot, expiry) in [
        ("PAST", "260309"),
        ("TODAY", "260310"),
        ("SOON", "260408"),
        ("LATER", "260409"),
    ] {
        let receipt = suite
            .receive(&Label::of(&cannula.gtin).expiry(expiry).lot(lot), 2)
            .await;
        rows.push(json!({"lot_id": receipt["lines"][0]["lot_id"], "location_id": suite.shelf}));
    }
    let quarantine = add_location(&suite.materials, "Held items", "quarantine").await;
    let sweep = async |days: u16, stock: &[Value], more: Value| {
        let mut body = json!({"within_days": days, "stock": stock, "note": "Cabinet B, top"});
        for (member, value) in more.as_object().expect("an object") {
            body[member] = value.clone();
        }
        suite.materials.post("/v1/stock/sweeps", &body).await
    };
    let to_quarantine = json!({"disposition": "quarantined", "to_id": quarantine});
    // An outdate is the last usable day: today's is not past it.
    let early = sweep(0, &rows[..2], to_quarantine.clone()).await;
    assert_eq!(
        early.problem(400, "invalid")["errors"][0]["pointer"],
        "/stock/1"
    );
    let swept = sweep(0, &rows[..1], to_quarantine.clone())
        .await
        .expect(201);
    assert_eq!(
        (&swept["lines"][0]["lot"], &swept["lines"][0]["quantity"]),
        (&json!("PAST"), &json!(2))
    );
    assert_eq!(quantity_at(&suite, &quarantine).await, 2);
    let gone = sweep(0, &rows[..1], json!({"disposition": "sent_back"})).await;
    assert_eq!(
        gone.problem(400, "invalid")["errors"][0]["pointer"],
        "/stock/0"
    );
    // Within 30 days: through 2026-04-08.
    let beyond = sweep(30, &rows[1..], json!({"disposition": "sent_back"})).await;
    assert_eq!(
        beyond.problem(400, "invalid")["errors"][0]["pointer"],
        "/stock/2"
    );
    sweep(30, &rows[1..2], json!({"disposition": "sent_back"}))
        .await
        .expect(201);
    let own = json!({"disposition": "destroyed", "witness_id": suite.materials.person});
    let own = sweep(30, &rows[2..3], own).await;
    assert_eq!(
        own.problem(400, "invalid")["errors"][0]["pointer"],
        "/witness_id"
    );
    // Whose account has ended sees nothing any more.
    let facility = suite.service.site.facility;
    let gone = suite
        .service
        .add_person(facility, "g.one", &[Role::Circulator])
        .await;
    let administrator = suite.service.role(Role::Administrator).await;
    let body = json!({"roles": ["circulator"], "ends_at": "2026-03-10T14:00:00Z"});
    administrator
        .put(&format!("/v1/people/{gone}"), 1, &body)
        .await
        .expect(200);
    let left = json!({"disposition": "destroyed", "witness_id": gone});
    let left = sweep(30, &rows[2..3], left).await;
    assert_eq!(
        left.problem(400, "invalid")["errors"][0]["pointer"],
        "/witness_id"
    );
    let seen = json!({"disposition": "destroyed", "witness_id": suite.circulator.person});
    sweep(30, &rows[2..3], seen).await.expect(201);
    assert_eq!(quantity_at(&suite, &suite.shelf).await, 2);
    let shelf = json!({"disposition": "quarantined", "to_id": suite.shelf});
    let shelf = sweep(31, &rows[3..], shelf).await;
    assert_eq!(
        shelf.problem(400, "invalid")["errors"][0]["pointer"],
        "/to_id"
    );
}

#[actix_web::test]
async fn a_swept_piece_stands_at_no_shelf_any_more() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let piece = Label::of(&handpiece.gtin)
        .expiry("260309")
        .lot("A")
        .serial("1");
    let receipt = suite.receive(&piece, 1).await;
    let stock = json!([{"lot_id": receipt["lines"][0]["lot_id"], "location_id": suite.shelf}]);
    let body = json!({
        "within_days": 0, "stock": stock, "disposition": "destroyed",
        "witness_id": suite.compliance.person, "note": "Sharps container 4",
    });
    let swept = suite
        .materials
        .post("/v1/stock/sweeps", &body)
        .await
        .expect(201);
    assert_eq!(swept["lines"][0]["serial"], "1");
    let sheet = format!("/v1/locations/{}/sheet", suite.shelf);
    let sheet = suite.materials.get(&sheet).await.expect(200);
    assert_eq!(sheet["lines"], json!([]));
}

#[actix_web::test]
async fn a_place_that_was_adjusted_again_and_again_is_refused_before_its_numbers_end() {
    let suite = Suite::start().await;
    let boxed = crate::harness::labels::fresh_gtin();
    let identifiers = json!([{"agency": "gs1", "code": boxed, "quantity": 100}]);
    suite.product(json!({"identifiers": identifiers})).await;
    let label = Label::of(&boxed).expiry("281231").lot("A");
    suite.receive(&label, 1).await;
    let count = format!("/v1/locations/{}/counts", suite.shelf);
    let found = json!({"lines": [{"item": {"text": label.text()}, "counted": 1_000_000}]});
    let mut counts = Vec::new();
    for _ in 0..11 {
        let counted = suite.materials.post(&count, &found).await.expect(201);
        counts.push(text(&counted, "id"));
    }
    // Each adds what was found more than was there at its time: 99,999,900.
    for (at, id) in counts.iter().enumerate() {
        let path = format!("/v1/counts/{id}/adjust");
        let body = json!({"lines": [1], "reason": "Counted again"});
        let answer = suite.materials.post(&path, &body).await;
        if at < 10 {
            answer.expect(201);
        } else {
            let problem = answer.problem(400, "invalid");
            assert_eq!(problem["errors"][0]["pointer"], "/lines/0");
        }
    }
    assert_eq!(quantity_at(&suite, &suite.shelf).await, 999_999_100);
    let line = json!({"text": label.text(), "quantity": 10_000, "location_id": suite.shelf});
    let delivery = json!({"lines": [line]});
    let refused = suite.materials.post("/v1/receipts", &delivery).await;
    let problem = refused.problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/lines/0/quantity");
    assert_eq!(quantity_at(&suite, &suite.shelf).await, 999_999_100);
}
