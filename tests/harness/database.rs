//! A test's own database.

use super::cluster::{as_superuser, cluster, connect};
use std::sync::atomic::{AtomicU32, Ordering};
use tokio_postgres::{Client, SimpleQueryMessage};
use uuid::Uuid;

/// A database cloned from the migrated template; dropped with this value.
pub struct Database {
    pub name: String,
}

impl Database {
    pub async fn new() -> Self {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let number = COUNT.fetch_add(1, Ordering::Relaxed);
        let name = format!("test_{}_{number}", std::process::id());
        let template = &cluster().template;
        let create = format!("CREATE DATABASE {name} TEMPLATE {template} OWNER lotwarden_owner");
        as_superuser("postgres", &create).await;
        Self { name }
    }

    pub fn service_url(&self) -> String {
        cluster().service_url(&self.name)
    }

    pub fn owner_url(&self) -> String {
        cluster().owner_url(&self.name)
    }

    /// A connection as the superuser, who sees every row: for looking, not for the service.
    pub async fn superuser(&self) -> Client {
        connect(&cluster().superuser_url(&self.name)).await
    }

    /// A connection with the service's rights that sees one facility.
    pub async fn application(&self, facility: Uuid) -> Client {
        let client = connect(&self.service_url()).await;
        let enter = format!("SET ROLE lotwarden_app; SET lotwarden.facility = '{facility}'");
        client
            .batch_execute(&enter)
            .await
            .expect("the login is a member of lotwarden_app");
        client
    }

    /// A connection as the owner of the schema.
    pub async fn owner(&self) -> Client {
        let client = connect(&self.owner_url()).await;
        client
            .batch_execute("SET ROLE lotwarden_owner")
            .await
            .expect("the migrator may");
        client
    }

    /// The rows of a query as text, seen by the superuser.
    pub async fn rows(&self, query: &str) -> Vec<Vec<Option<String>>> {
        rows(&self.superuser().await, query).await
    }

    /// The first column of a query's rows.
    pub async fn column(&self, query: &str) -> Vec<String> {
        let rows = self.rows(query).await;
        rows.into_iter()
            .map(|row| row[0].clone().unwrap_or_default())
            .collect()
    }
}

/// The rows of a query as text.
pub async fn rows(client: &Client, query: &str) -> Vec<Vec<Option<String>>> {
    let messages = client.simple_query(query).await.expect("a query of a test");
    let rows = messages.into_iter().filter_map(|message| match message {
        SimpleQueryMessage::Row(row) => Some(
            (0..row.len())
                .map(|at| row.get(at).map(str::to_owned))
                .collect(),
        ),
        _ => None,
    });
    rows.collect()
}

impl Drop for Database {
    fn drop(&mut self) {
        let drop = format!("DROP DATABASE IF EXISTS {} WITH (FORCE)", self.name);
        let dropped = std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread()
                .enable_all()
                .build();
            runtime
                .expect("a runtime")
                .block_on(as_superuser("postgres", &drop));
        });
        // A database that stays is removed with its cluster.
        let _ = dropped.join();
    }
}
