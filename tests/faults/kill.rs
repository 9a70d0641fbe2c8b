//! Power cuts.

use super::load::Load;
use crate::harness::Instance;
use crate::harness::cluster::connect;
use actix_web::rt::time::sleep;
use std::time::Duration;

/// Kills in a row: every second one is the service, every other one PostgreSQL.
const KILLS: usize = 20;

#[actix_web::test]
async fn after_20_kills_of_service_and_database_under_load_every_acknowledged_scan_is_there_once() {
    let mut instance = Instance::new();
    instance.serve();
    let mut load = Load::on(&instance).await;
    let mut before = 0;
    for kill in 0..KILLS {
        let callers = load.start();
        // A different moment each time.
        sleep(Duration::from_millis(250 + 17 * kill as u64)).await;
        if kill % 2 == 0 {
            instance.kill_service();
            load.stop(callers).await;
            instance.serve();
            load.at(&instance);
        } else {
            instance.kill_database();
            sleep(Duration::from_millis(50)).await;
            load.stop(callers).await;
            // The service stays up and finds the database again by itself.
            instance.start_database();
        }
        load.retry().await;
        let now = load.acknowledged();
        assert!(now > before, "no scan was acknowledged before kill {kill}");
        before = now;
    }
    load.check(&instance).await;
    eprintln!("{before} acknowledged scans over {KILLS} kills");
}

#[actix_web::test]
async fn a_kill_of_everything_at_once_loses_nothing() {
    let mut instance = Instance::new();
    instance.serve();
    let mut load = Load::on(&instance).await;
    let callers = load.start();
    sleep(Duration::from_millis(500)).await;
    instance.kill_database();
    instance.kill_service();
    load.stop(callers).await;
    // `serve` starts the private PostgreSQL again, which recovers from its log.
    instance.serve();
    load.at(&instance);
    load.retry().await;
    load.check(&instance).await;
}

#[actix_web::test]
async fn acknowledged_scans_outlive_a_server_set_to_answer_before_its_disk_has_them() {
    let mut instance = Instance::new();
    instance.start_database();
    let superuser = connect(instance.run(&["cluster", "url", "--superuser"], "").trim()).await;
    superuser
        .batch_execute("ALTER ROLE ALL SET synchronous_commit = off")
        .await
        .expect("a setting of the server");
    instance.serve();
    let load = Load::on(&instance).await;
    // What such a server loses is what its log writer did not write yet: more than one moment.
    for _ in 0..3 {
        let callers = load.start();
        sleep(Duration::from_millis(500)).await;
        instance.kill_database();
        sleep(Duration::from_millis(50)).await;
        load.stop(callers).await;
        instance.start_database();
        load.retry().await;
    }
    load.check(&instance).await;
}

#[actix_web::test]
async fn a_service_that_is_told_to_end_answers_what_it_took_first() {
    let mut instance = Instance::new();
    // Started apart, so that the database stays when the service ends.
    instance.start_database();
    instance.serve();
    let mut load = Load::on(&instance).await;
    let callers = load.start();
    sleep(Duration::from_millis(500)).await;
    instance.end_service();
    load.stop(callers).await;
    instance.serve();
    load.at(&instance);
    load.retry().await;
    load.check(&instance).await;
}
