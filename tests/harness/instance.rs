//! A real `lotwarden serve` with a data directory of its own, to be killed.

use super::client::{Client, text};
use super::people::PASSWORD;
use super::{binaries, cluster, log};
use rustix::process::{Pid, Signal, kill_process};
use serde_json::{Value, json};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;
use uuid::Uuid;

pub struct Instance {
    pub data_dir: PathBuf,
    /// Flags of every command beside the data directory.
    flags: Vec<String>,
    service: Option<Child>,
    pub base: String,
}

impl Instance {
    /// A data directory with a private PostgreSQL, a facility and a person who may everything.
    pub fn new() -> Self {
        Self::under(Path::new("/tmp"))
    }

    pub fn under(directory: &Path) -> Self {
        let name = format!("lotwarden-instance-{}", Uuid::new_v4().simple());
        let instance = Self::of(directory.join(name), Vec::new());
        cluster::stop_afterwards(&binaries::lotwarden(), &instance.data_dir);
        instance.run(
            &["facility", "add", "--name", "North Hill", "--zone", "UTC"],
            "",
        );
        let mut add = vec![
            "people",
            "add",
            "--login",
            "m.okafor",
            "--name",
            "Mina Okafor",
        ];
        for role in ["circulator", "practitioner", "materials", "compliance"] {
            add.extend(["--role", role]);
        }
        instance.run(&add, PASSWORD);
        instance
    }

    /// One of several processes on a test's database, with the master key of the tests.
    pub fn beside(service_url: &str, owner_url: &str, master_key: &[u8]) -> Self {
        let data_dir = PathBuf::from(format!("/tmp/lotwarden-beside-{}", Uuid::new_v4().simple()));
        std::fs::create_dir(&data_dir).expect("a directory can be made");
        let key_file = data_dir.join("master.key");
        let mut key = std::fs::OpenOptions::new();
        std::os::unix::fs::OpenOptionsExt::mode(key.create_new(true).write(true), 0o600);
        let digits: String = master_key
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect();
        key.open(&key_file)
            .and_then(|mut file| writeln!(file, "{digits}"))
            .expect("a key file");
        let flags = ["--database-url", service_url, "--owner-url", owner_url];
        Self::of(data_dir, flags.map(str::to_owned).to_vec())
    }

    fn of(data_dir: PathBuf, flags: Vec<String>) -> Self {
        Self {
            data_dir,
            flags,
            service: None,
            base: String::new(),
        }
    }

    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(binaries::lotwarden());
        for (name, _) in std::env::vars().filter(|(name, _)| name.starts_with("LOTWARDEN_")) {
            command.env_remove(name);
        }
        command
            .args(arguments)
            .arg("--data-dir")
            .arg(&self.data_dir)
            .args(&self.flags);
        command
    }

    /// Runs a command to its end, however it ends.
    pub fn try_run(&self, arguments: &[&str], input: &str) -> Output {
        let mut command = self.command(arguments);
        command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut child = command.spawn().expect("lotwarden runs");
        writeln!(child.stdin.take().expect("an input"), "{input}").expect("the input is taken");
        child.wait_with_output().expect("lotwarden ends")
    }

    /// Runs a command to its end with more in its environment.
    pub fn try_run_with(&self, environment: &[(&str, &str)], arguments: &[&str]) -> Output {
        let mut command = self.command(arguments);
        command
            .envs(environment.iter().copied())
            .stdin(Stdio::null());
        command.output().expect("lotwarden runs")
    }

    /// Runs a command that must succeed, and gives its output.
    pub fn run(&self, arguments: &[&str], input: &str) -> String {
        let output = self.try_run(arguments, input);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "lotwarden {arguments:?}: {said}");
        String::from_utf8(output.stdout).expect("UTF-8")
    }

    /// Starts the service and waits until it is ready.
    pub fn serve(&mut self) {
        let log = std::fs::File::options()
            .create(true)
            .append(true)
            .open(self.data_dir.join("service.log"));
        let log = log.expect("a log can be opened");
        let mut command = self.command(&[
            "serve",
            "--listen",
            "127.0.0.1:0",
            "--log",
            "warn",
            "--workers",
            "1",
        ]);
        command
            .args(["--requests-per-minute", "100000000"])
            .stdin(Stdio::null());
        command.stdout(Stdio::null()).stderr(log);
        let mut service = command.spawn().expect("lotwarden runs");
        let status = self.try_run(&["status", "--json", "--wait", "60"], "");
        let said: Value = serde_json::from_slice(&status.stdout).expect("JSON");
        let ended = service.try_wait().expect("the service can be asked");
        self.service = Some(service);
        // The end of the log, with the reason: the whole of it would be cut where it is shown.
        let log = || {
            let log = std::fs::read_to_string(self.data_dir.join("service.log"));
            let log = log.unwrap_or_default();
            let lines: Vec<&str> = log.lines().collect();
            lines[lines.len().saturating_sub(12)..].join("\n")
        };
        assert!(
            status.status.success(),
            "the service is not ready (its end: {ended:?}): {said}\n{}",
            log()
        );
        self.base = text(&said, "address");
    }

    /// A caller with a fresh session.
    pub async fn sign_in(&self) -> Client {
        let anybody = self.anybody();
        let body = json!({"login": "m.okafor", "password": PASSWORD});
        let session = anybody.post("/v1/sessions", &body).await.expect(201);
        let person = text(&session["person"], "id").parse().expect("an id");
        Client {
            person,
            ..anybody.with_token(&text(&session, "access_token"))
        }
    }

    pub fn anybody(&self) -> Client {
        let http = reqwest::Client::builder()
            .no_proxy()
            .timeout(Duration::from_secs(30))
            .build();
        let http = http.expect("an HTTP client");
        Client {
            http,
            base: self.base.clone(),
            token: None,
            person: Uuid::nil(),
        }
    }

    /// Kills the service as a power cut does.
    pub fn kill_service(&mut self) {
        if let Some(mut service) = self.service.take() {
            service.kill().expect("the service can be killed");
            service.wait().expect("the service ends");
        }
    }

    /// Asks the service to end, and waits until it has.
    pub fn end_service(&mut self) {
        let mut service = self.service.take().expect("a service");
        let pid = Pid::from_child(&service);
        kill_process(pid, Signal::TERM).expect("the service can be told");
        let status = service.wait().expect("the service ends");
        assert!(status.success(), "the service ended with {status}");
    }

    /// Kills PostgreSQL's first process; the others end when they notice.
    pub fn kill_database(&self) {
        let file = self.data_dir.join("postgresql/data/postmaster.pid");
        let text = std::fs::read_to_string(file).expect("the database runs");
        let pid = text
            .lines()
            .next()
            .and_then(|line| line.trim().parse().ok())
            .and_then(Pid::from_raw);
        kill_process(pid.expect("a process number"), Signal::KILL)
            .expect("the database can be killed");
    }

    pub fn start_database(&self) {
        self.run(&["cluster", "start"], "");
    }

    pub fn stop_database(&self) {
        self.run(&["cluster", "stop"], "");
    }
}

impl Instance {
    /// Leaves what the service and its PostgreSQL logged where the whole run is searched.
    fn keep_logs(&self) {
        let Some(folder) = log::gathered() else {
            return;
        };
        let own = std::fs::read_dir(self.data_dir.join("postgresql/log"));
        let database = own.into_iter().flatten().flatten().map(|file| file.path());
        for file in database.chain([self.data_dir.join("service.log")]) {
            let kept = folder.join(format!("{}.log", Uuid::new_v4().simple()));
            let _ = std::fs::copy(file, kept);
        }
    }
}

impl Drop for Instance {
    fn drop(&mut self) {
        self.kill_service();
        if self.flags.is_empty() {
            self.try_run(&["stop"], "");
        }
        self.keep_logs();
        let _ = std::fs::remove_dir_all(&self.data_dir);
    }
}
