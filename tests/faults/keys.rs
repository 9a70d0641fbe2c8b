//! The master key: rotated, lost, and taken for another.

use crate::harness::Instance;
use crate::harness::client::text;
use serde_json::json;
use std::fs;

/// An instance with a case on a patient.
async fn with_a_patient() -> (Instance, String) {
    let mut instance = Instance::new();
    instance.serve();
    let caller = instance.sign_in().await;
    let place = json!({"name": "Procedure room 2", "kind": "room"});
    let room = caller.post("/v1/locations", &place).await.expect(201);
    let body = json!({
        "patient": {"record_number": "MRN-004217", "name": "Example, Robin", "born_on": "1984-02-29"},
        "procedure": "Vein ablation, left leg",
        "location_id": room["id"],
        "practitioner_id": caller.person,
        "scheduled_for": "2026-03-11T08:30:00Z",
    });
    let case = caller.post("/v1/cases", &body).await.expect(201);
    instance.end_service();
    (instance, text(&case, "id"))
}

/// The patient can be read: the facility's key opens, and what it seals.
async fn reads_the_patient(instance: &mut Instance, case: &str) {
    instance.serve();
    let caller = instance.sign_in().await;
    let shown = caller
        .get(&format!("/v1/cases/{case}/patient"))
        .await
        .expect(200);
    assert_eq!(shown["record_number"], "MRN-004217");
    instance.end_service();
}

#[actix_web::test]
async fn a_rotated_master_key_opens_everything_and_the_former_one_nothing() {
    let (mut instance, case) = with_a_patient().await;
    let file = instance.data_dir.join("master.key");
    let former = fs::read_to_string(&file).expect("a key");
    instance.run(&["keys", "rotate"], "");
    let now = fs::read_to_string(&file).expect("a key");
    assert_ne!(now, former);
    let kept = instance.data_dir.join("master.key.former-1");
    assert_eq!(fs::read_to_string(&kept).expect("the former key"), former);
    reads_the_patient(&mut instance, &case).await;
    instance.run(&["ledger", "verify"], "");
    // A rotation that was cut off between its commit and the change of the file is finished.
    fs::rename(&file, instance.data_dir.join("master.key.next")).expect("a rename");
    fs::rename(&kept, &file).expect("a rename");
    reads_the_patient(&mut instance, &case).await;
    assert_eq!(fs::read_to_string(&file).expect("a key"), now);
    // The former key is refused, and stays as it is.
    fs::write(&file, &former).expect("a key can be written");
    let refused = instance.try_run(&["serve", "--listen", "127.0.0.1:0"], "");
    let said = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(!refused.status.success());
    assert!(said.contains("does not hold the key"), "{said}");
    assert_eq!(fs::read_to_string(&file).expect("a key"), former);
}

#[actix_web::test]
async fn a_lost_master_key_is_refused_and_not_replaced() {
    let (mut instance, case) = with_a_patient().await;
    let file = instance.data_dir.join("master.key");
    let aside = instance.data_dir.join("aside");
    fs::rename(&file, &aside).expect("a rename");
    let commands: [&[&str]; 3] = [
        &["serve", "--listen", "127.0.0.1:0"],
        &["people", "list"],
        &["keys", "rotate"],
    ];
    for command in commands {
        let refused = instance.try_run(command, "");
        let said = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert!(!refused.status.success(), "{command:?}");
        assert!(said.contains("is missing"), "{said}");
        assert!(!file.exists(), "{command:?} made another key");
    }
    fs::rename(&aside, &file).expect("a rename");
    reads_the_patient(&mut instance, &case).await;
}

#[actix_web::test]
async fn a_key_is_not_rotated_under_a_service_that_runs() {
    let mut instance = Instance::new();
    instance.serve();
    let refused = instance.try_run(&["keys", "rotate"], "");
    let said = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(!refused.status.success());
    assert!(said.contains("already running"), "{said}");
}
