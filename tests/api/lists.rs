//! Lists: `{items, next}` with opaque cursors.

use crate::harness::{Client, Service};
use lotwarden_domain::access::Role;
use serde_json::json;
use std::collections::BTreeSet;

async fn stations(count: usize) -> (Service, Client) {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    let adding = (0..count).map(|number| {
        let administrator = administrator.clone();
        async move {
            let body = json!({"name": format!("Room {number}")});
            administrator.post("/v1/stations", &body).await.expect(201);
        }
    });
    futures_util::future::join_all(adding).await;
    (service, administrator)
}

#[actix_web::test]
async fn pages_go_through_everything_once() {
    let (_service, administrator) = stations(23).await;
    let mut seen = Vec::new();
    let mut path = "/v1/stations?limit=5".to_owned();
    let mut pages = 0;
    loop {
        let page = administrator.get(&path).await.expect(200);
        let items = page["items"].as_array().expect("items");
        assert!(items.len() <= 5);
        seen.extend(
            items
                .iter()
                .map(|item| item["name"].as_str().expect("a name").to_owned()),
        );
        pages += 1;
        let Some(next) = page["next"].as_str() else {
            break;
        };
        path = format!("/v1/stations?limit=5&cursor={next}");
    }
    assert_eq!(pages, 5);
    assert_eq!(seen.len(), 23);
    assert_eq!(seen.iter().collect::<BTreeSet<_>>().len(), 23);
}

#[actix_web::test]
async fn the_last_full_page_has_no_next() {
    let (_service, administrator) = stations(4).await;
    let page = administrator.get("/v1/stations?limit=4").await.expect(200);
    assert_eq!(page["items"].as_array().map(Vec::len), Some(4));
    assert!(page.get("next").is_none());
}

#[actix_web::test]
async fn a_page_is_of_1_to_200_rows() {
    let (_service, administrator) = stations(0).await;
    for limit in ["0", "201", "-1", "many", "70000"] {
        let reply = administrator
            .get(&format!("/v1/stations?limit={limit}"))
            .await;
        reply.problem(400, "invalid");
    }
    administrator
        .get("/v1/stations?limit=200")
        .await
        .expect(200);
}

#[actix_web::test]
async fn a_made_up_cursor_is_refused() {
    let (_service, administrator) = stations(1).await;
    for cursor in ["x", "AAAA", "%00", "AAAAAAAAAAAAAAAAAAAAAAAAAAAA"] {
        administrator
            .get(&format!("/v1/stations?cursor={cursor}"))
            .await
            .problem(400, "invalid");
    }
}

#[actix_web::test]
async fn a_row_added_while_paging_comes_once_and_moves_nothing() {
    let (_service, administrator) = stations(6).await;
    let first = administrator.get("/v1/stations?limit=3").await.expect(200);
    administrator
        .post("/v1/stations", &json!({"name": "Room new"}))
        .await
        .expect(201);
    let next = first["next"].as_str().expect("more rows");
    let rest = administrator
        .get(&format!("/v1/stations?limit=10&cursor={next}"))
        .await
        .expect(200);
    let names = |page: &serde_json::Value| -> Vec<String> {
        let items = page["items"].as_array().expect("items").iter();
        items
            .map(|item| item["name"].as_str().expect("a name").to_owned())
            .collect()
    };
    let all: BTreeSet<String> = names(&first).into_iter().chain(names(&rest)).collect();
    assert_eq!(all.len(), 7);
    assert_eq!(names(&first).len() + names(&rest).len(), 7);
}
