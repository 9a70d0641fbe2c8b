//! The PostgreSQL of this run: LOTWARDEN_TEST_CLUSTER (a superuser's connection string to a cluster
//! that is for tests alone), else a private one that this process starts and that ends with it.

use super::binaries;
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use tokio_postgres::config::Host;
use tokio_postgres::{Client, Config, NoTls};

/// A login that is only a member of `lotwarden_app`, as the service's own.
pub const SERVICE_LOGIN: &str = "lotwarden_test_service";
/// A login that may only `SET ROLE lotwarden_owner`.
pub const MIGRATOR_LOGIN: &str = "lotwarden_test_migrator";
/// The password of both: the cluster is private, reached through its own socket and thrown away.
const PASSWORD: &str = "of a throw-away cluster";

pub struct Cluster {
    superuser: Config,
    /// The migrated database that each test's is cloned from.
    pub template: String,
}

/// The cluster, made ready by whichever test asks first.
pub fn cluster() -> &'static Cluster {
    static CLUSTER: OnceLock<Cluster> = OnceLock::new();
    // On a thread of its own: the caller may stand inside a runtime.
    CLUSTER.get_or_init(|| {
        std::thread::spawn(make_ready)
            .join()
            .expect("the test cluster is ready")
    })
}

impl Cluster {
    /// A connection string of the superuser.
    pub fn superuser_url(&self, database: &str) -> String {
        let password = self.superuser.get_password().unwrap_or_default();
        let user = self.superuser.get_user().unwrap_or("postgres");
        self.url(database, user, &String::from_utf8_lossy(password))
    }

    /// A connection string of the login that serves.
    pub fn service_url(&self, database: &str) -> String {
        self.url(database, SERVICE_LOGIN, PASSWORD)
    }

    /// A connection string of the login that migrates.
    pub fn owner_url(&self, database: &str) -> String {
        self.url(database, MIGRATOR_LOGIN, PASSWORD)
    }

    fn url(&self, database: &str, user: &str, password: &str) -> String {
        let host = match self.superuser.get_hosts().first() {
            Some(Host::Unix(directory)) => directory.display().to_string(),
            Some(Host::Tcp(name)) => name.clone(),
            None => panic!("the superuser's connection string names no host"),
        };
        let port = self.superuser.get_ports().first().unwrap_or(&5432);
        format!("host='{host}' port={port} dbname='{database}' user='{user}' password='{password}'")
    }
}

/// Connects; the connection works in the background until the client is dropped.
pub async fn connect(url: &str) -> Client {
    let (client, connection) = tokio_postgres::connect(url, NoTls)
        .await
        .expect("the database answers");
    tokio::spawn(connection);
    client
}

/// Runs statements as the superuser.
pub async fn as_superuser(database: &str, statements: &str) {
    let client = connect(&cluster().superuser_url(database)).await;
    client
        .batch_execute(statements)
        .await
        .expect("a superuser's statement");
}

fn make_ready() -> Cluster {
    let superuser = match std::env::var("LOTWARDEN_TEST_CLUSTER") {
        Ok(url) => url,
        Err(_) => start_private(),
    };
    let superuser: Config = superuser.trim().parse().expect("a connection string");
    let template = format!("template_{}", std::process::id());
    let cluster = Cluster {
        superuser,
        template,
    };
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build();
    runtime
        .expect("a runtime")
        .block_on(make_template(&cluster));
    lotwarden_store::migrations::up(&cluster.owner_url(&cluster.template))
        .expect("the template migrates");
    cluster
}

/// Makes the roles of a cluster and an empty database for the owner, as the service does.
async fn make_template(cluster: &Cluster) {
    let client = connect(&cluster.superuser_url("postgres")).await;
    let role = |name: &str, how: &str| {
        format!(
            "DO $$ BEGIN CREATE ROLE {name} {how} NOSUPERUSER NOBYPASSRLS; \
             EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;"
        )
    };
    let statements = [
        role("lotwarden_owner", "NOLOGIN"),
        role("lotwarden_app", "NOLOGIN"),
        role(SERVICE_LOGIN, &format!("LOGIN PASSWORD '{PASSWORD}'")),
        role(
            MIGRATOR_LOGIN,
            &format!("LOGIN NOINHERIT PASSWORD '{PASSWORD}'"),
        ),
        format!(
            "GRANT lotwarden_app TO {SERVICE_LOGIN}; GRANT lotwarden_owner TO {MIGRATOR_LOGIN};"
        ),
    ];
    for statement in statements {
        client
            .batch_execute(&statement)
            .await
            .expect("roles can be made");
    }
    make_database(
        &client,
        &cluster.template,
        &cluster.superuser_url(&cluster.template),
    )
    .await;
}

/// Makes an empty database that belongs to the owner role.
pub async fn make_database(client: &Client, name: &str, superuser_url: &str) {
    let create = format!("CREATE DATABASE {name} OWNER lotwarden_owner");
    client
        .batch_execute(&create)
        .await
        .expect("a database can be made");
    let inside = connect(superuser_url).await;
    let grants = "ALTER SCHEMA public OWNER TO lotwarden_owner; REVOKE ALL ON SCHEMA public FROM public; \
                  GRANT USAGE ON SCHEMA public TO lotwarden_app";
    inside
        .batch_execute(grants)
        .await
        .expect("the schema can be given to the owner");
}

/// Starts a private cluster, and a shell that stops and removes it when this process is gone,
/// however it ended: its standard input ends then.
fn start_private() -> String {
    let program = binaries::lotwarden();
    // Under /tmp, where PostgreSQL's account reaches it also when root's home is closed.
    let data_dir = format!("/tmp/lotwarden-tests-{}", std::process::id());
    let run = |arguments: &[&str]| {
        let mut command = Command::new(&program);
        command.args(arguments).args(["--data-dir", &data_dir]);
        let output = command
            .env_remove("LOTWARDEN_DATABASE_URL")
            .output()
            .expect("lotwarden runs");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "lotwarden {arguments:?}: {said}");
        String::from_utf8(output.stdout).expect("UTF-8")
    };
    stop_afterwards(&program, Path::new(&data_dir));
    run(&["cluster", "start"]);
    run(&["cluster", "url", "--superuser"])
}

/// Leaves a shell behind that stops a private cluster and removes its directory once this process
/// is gone.
pub fn stop_afterwards(program: &Path, data_dir: &Path) {
    let script = "cat >/dev/null; \"$0\" stop --data-dir \"$1\"; \"$0\" cluster stop --data-dir \"$1\"; rm -rf \"$1\"";
    let watchdog = Command::new("sh")
        .args(["-c", script])
        .args([program, data_dir])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        // Apart from this process's group, which an interrupt ends as a whole.
        .process_group(0)
        .spawn();
    // Kept without being waited for: the pipe closes when this process ends.
    std::mem::forget(watchdog.expect("sh runs"));
}
