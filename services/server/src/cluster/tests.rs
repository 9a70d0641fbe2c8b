//! Each test has a private cluster of its own; PostgreSQL's server programs must be installed.

use std::path::Path;
use std::time::Duration;

use rustix::process::{Pid, Signal, kill_process};

use super::*;
use crate::settings::Flags;

/// A private cluster in a directory of its own, stopped and removed at the end.
struct Scratch {
    dir: PathBuf,
    settings: Settings,
}

impl Scratch {
    fn new(name: &str) -> Self {
        let dir = PathBuf::from(format!("/tmp/lw-test-{name}-{}", std::process::id()));
        let settings = settings(&[("LOTWARDEN_DATA_DIR", &dir.display().to_string())]);
        Self { dir, settings }
    }

    fn ensure(&self) -> DatabaseAccess {
        Cluster::ensure_running(&self.settings, &|_| ()).unwrap()
    }

    fn cluster(&self) -> Cluster {
        Cluster::find(&self.settings).unwrap()
    }

    /// Ends PostgreSQL's first process without a chance to clean up.
    fn kill(&self) {
        let number = control::postmaster(&self.cluster().layout).unwrap();
        let pid = Pid::from_raw(i32::try_from(number).unwrap()).unwrap();
        kill_process(pid, Signal::KILL).unwrap();
        while control::postmaster(&self.cluster().layout).is_some() {
            std::thread::sleep(Duration::from_millis(5));
        }
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = Cluster::stop(&self.settings, &|_| ());
        let _ = std::fs::remove_dir_all(&self.dir);
    }
}

fn settings(variables: &[(&str, &str)]) -> Settings {
    let value = |name: &str| {
        let found = variables.iter().find(|(variable, _)| *variable == name);
        found.map(|(_, value)| (*value).to_owned())
    };
    Settings::resolve(&Flags::default(), &value).unwrap()
}

/// Runs statements and gives the first column of the last row, or the error's SQLSTATE.
fn sql(url: &SecretUrl, statements: &str) -> Result<String, String> {
    connection::with_client(url, |client| async move {
        let answer = client.simple_query(statements).await;
        let rows = answer.map_err(RolesError::from)?;
        let last = rows.iter().rev().find_map(|row| match row {
            tokio_postgres::SimpleQueryMessage::Row(row) => row.get(0).map(str::to_owned),
            _ => None,
        });
        Ok::<_, RolesError>(last.unwrap_or_default())
    })
    .map_err(|error| match error {
        RolesError::Statement(error) => error.code().unwrap().code().to_owned(),
        RolesError::Connect(ConnectError::Refused { source, .. }) => {
            source.code().unwrap().code().to_owned()
        }
        other => panic!("{other:?}"),
    })
}

const INSUFFICIENT_PRIVILEGE: &str = "42501";

#[test]
fn a_cluster_is_made_once_and_found_running_afterwards() {
    let scratch = Scratch::new("once");
    assert!(!Cluster::stop(&scratch.settings, &|_| ()).unwrap());
    assert!(scratch.ensure().started_here);
    let again = scratch.ensure();
    assert!(!again.started_here);
    let superuser = Cluster::superuser_url(&scratch.settings).unwrap();
    for (setting, value) in [
        ("data_checksums", "on"),
        ("listen_addresses", ""),
        ("password_encryption", "scram-sha-256"),
        ("server_encoding", "UTF8"),
        ("fsync", "on"),
        ("synchronous_commit", "on"),
    ] {
        assert_eq!(sql(&superuser, &format!("show {setting}")).unwrap(), value);
    }
    let methods = "select string_agg(distinct auth_method, ',') from pg_hba_file_rules";
    assert_eq!(sql(&superuser, methods).unwrap(), "scram-sha-256");
    assert!(Cluster::stop(&scratch.settings, &|_| ()).unwrap());
    assert!(!Cluster::is_running(&scratch.settings).unwrap());
    assert!(!Cluster::stop(&scratch.settings, &|_| ()).unwrap());
}

#[test]
fn each_login_has_the_rights_of_its_group_and_no_more() {
    let scratch = Scratch::new("rights");
    let access = scratch.ensure();
    let create = "create table public.t (a int)";
    let denied = Err(INSUFFICIENT_PRIVILEGE.to_owned());
    assert_eq!(sql(&access.service_url, create), denied);
    assert_eq!(sql(&access.service_url, "set role lotwarden_owner"), denied);
    assert_eq!(sql(&access.owner_url, create), denied);
    sql(
        &access.owner_url,
        &format!("set role lotwarden_owner; {create}"),
    )
    .unwrap();
    assert_eq!(sql(&access.service_url, "select * from public.t"), denied);
    let superuser = Cluster::superuser_url(&scratch.settings).unwrap();
    let powerful = "select count(*) from pg_roles where rolname like 'lotwarden%' \
        and (rolsuper or rolcreatedb or rolcreaterole or rolbypassrls or rolreplication)";
    assert_eq!(sql(&superuser, powerful).unwrap(), "0");
    let server = access
        .service_url
        .expose()
        .strip_suffix("/lotwarden")
        .unwrap();
    let elsewhere = SecretUrl::parse(&format!("{server}/postgres")).unwrap();
    assert_eq!(sql(&elsewhere, "select 1"), denied);
}

#[test]
fn a_killed_server_comes_back_with_what_was_committed() {
    let scratch = Scratch::new("killed");
    let owner = scratch.ensure().owner_url;
    sql(&owner, "set role lotwarden_owner; create table t (a int)").unwrap();
    for round in 1..=3 {
        let insert = format!("set role lotwarden_owner; insert into t values ({round})");
        sql(&owner, &insert).unwrap();
        scratch.kill();
        assert!(scratch.ensure().started_here);
        let count = sql(&owner, "set role lotwarden_owner; select count(*) from t");
        assert_eq!(count.unwrap(), round.to_string());
    }
}

#[test]
fn a_number_given_to_another_process_since_does_not_keep_the_server_down() {
    let scratch = Scratch::new("number");
    scratch.ensure();
    scratch.kill();
    let cluster = scratch.cluster();
    let mut sleep = cluster.account.command(Path::new("/bin/sleep"));
    let mut other = sleep.arg("60").spawn().unwrap();
    for file in [
        cluster.layout.data.join("postmaster.pid"),
        cluster.layout.sockets.join(".s.PGSQL.5432.lock"),
    ] {
        let text = std::fs::read_to_string(&file).unwrap();
        let (_, rest) = text.split_once('\n').unwrap();
        std::fs::write(&file, format!("{}\n{rest}", other.id())).unwrap();
    }
    let started = scratch.ensure().started_here;
    other.kill().unwrap();
    other.wait().unwrap();
    assert!(started);
}

#[test]
fn a_lost_password_is_replaced() {
    let scratch = Scratch::new("password");
    let before = scratch.ensure().service_url;
    std::fs::remove_file(scratch.dir.join("secrets/service")).unwrap();
    let after = scratch.ensure().service_url;
    assert_ne!(before, after);
    assert_eq!(sql(&after, "select 1").unwrap(), "1");
    assert_eq!(sql(&before, "select 1").unwrap_err(), "28P01");
}

#[test]
fn commands_that_start_at_once_start_one_server() {
    let scratch = Scratch::new("at-once");
    let starts: usize = std::thread::scope(|scope| {
        let all: Vec<_> = (0..4)
            .map(|_| scope.spawn(|| usize::from(scratch.ensure().started_here)))
            .collect();
        all.into_iter().map(|one| one.join().unwrap()).sum()
    });
    assert_eq!(starts, 1);
}

#[test]
fn no_value_of_a_refused_statement_reaches_the_log() {
    let scratch = Scratch::new("log");
    let owner = scratch.ensure().owner_url;
    let statements = "set role lotwarden_owner; create table t (a text constraint once unique); \
        insert into t values ('Quillfeather'); insert into t values ('Quillfeather')";
    assert_eq!(sql(&owner, statements).unwrap_err(), "23505");
    let log = std::fs::read_dir(scratch.cluster().layout.postgresql.join("log")).unwrap();
    let text: String = log
        .map(|file| std::fs::read_to_string(file.unwrap().path()).unwrap())
        .collect();
    assert!(text.contains("duplicate key value"), "{text}");
    assert!(!text.contains("Quillfeather"), "{text}");
}

#[test]
fn on_a_named_server_only_membership_is_asked_for() {
    let scratch = Scratch::new("named");
    let private = scratch.ensure();
    let named = |owner: &SecretUrl| {
        settings(&[
            (
                "LOTWARDEN_DATA_DIR",
                &scratch.dir.join("other").display().to_string(),
            ),
            ("LOTWARDEN_DATABASE_URL", private.service_url.expose()),
            ("LOTWARDEN_OWNER_URL", owner.expose()),
        ])
    };
    let access = Cluster::ensure_running(&named(&private.owner_url), &|_| ()).unwrap();
    assert!(!access.started_here);
    assert!(!scratch.dir.join("other").exists());
    let refused = Cluster::ensure_running(&named(&private.service_url), &|_| ());
    assert!(matches!(
        refused.unwrap_err(),
        ClusterError::External(ExternalError::RolesMissing(_))
    ));
    assert!(matches!(
        Cluster::stop(&named(&private.owner_url), &|_| ()),
        Err(ClusterError::NotPrivate)
    ));
}
