//! Mail whose reader goes away.

use crate::harness::Instance;
use serde_json::{Value, json};
use std::process::Stdio;

/// An instance with these many mails in its outbox.
async fn with_mails(instance: &mut Instance, mails: usize) {
    instance.serve();
    let caller = instance.sign_in().await;
    let shown = caller.get("/v1/notice-policy").await.expect(200);
    let policy = json!({
        "letters": shown["letters"], "targets": shown["targets"], "remind_hours": 30,
        "mail_from": "site@example.org", "mail_to": ["desk@example.org"], "reason": "A test",
    });
    caller
        .put("/v1/notice-policy", 1, &policy)
        .await
        .expect(200);
    for at in 0..mails {
        let notice = json!({
            "firm": "Example Instruments, Inc.", "reference": format!("FSN-{at}"),
            "source": "letter", "text": "Lot L1", "reason": "From here on pouches may be open",
        });
        caller.post("/v1/notices", &notice).await.expect(201);
    }
}

async fn waiting(instance: &Instance) -> usize {
    let caller = instance.sign_in().await;
    let page: Value = caller.get("/v1/mails").await.expect(200);
    let items = page["items"].as_array().expect("items").iter();
    items.filter(|mail| mail["handed_at"].is_null()).count()
}

#[actix_web::test]
async fn mail_that_nobody_could_take_waits_on_and_the_command_says_so() {
    let mut instance = Instance::new();
    with_mails(&mut instance, 3).await;
    // A reader that is gone (as after `| head`), and a disk that is full.
    let full = std::fs::File::options().write(true).open("/dev/full");
    let mut gone = instance.command(&["outbox"]);
    let mut full_disk = instance.command(&["outbox"]);
    full_disk.stdout(full.expect("the device of a full disk"));
    let (reader, writer) = std::io::pipe().expect("a pipe");
    drop(reader);
    gone.stdout(writer);
    for mut command in [gone, full_disk] {
        let child = command.stderr(Stdio::piped()).spawn().expect("it runs");
        let output = child.wait_with_output().expect("it ends");
        assert!(!output.status.success());
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(said.contains("0 mails handed over; mail "), "{said}");
        assert_eq!(waiting(&instance).await, 3);
    }
    let printed = instance.run(&["outbox"], "");
    assert_eq!(printed.matches("From lotwarden ").count(), 3);
    assert_eq!(waiting(&instance).await, 0);
    assert_eq!(instance.run(&["outbox"], ""), "");
}
