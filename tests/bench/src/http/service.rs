//! The service as a process of its own, and what it holds in memory.

use super::connection::Connection;
use crate::timing::round;
use anyhow::Context;
use serde_json::{Value, json};
use std::io::Write;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use uuid::Uuid;

/// Given anew to each run's own account.
const LOGIN: &str = "bench";

/// `lotwarden serve` over the cluster in LOTWARDEN_DATA_DIR.
pub struct Service {
    program: PathBuf,
    process: Child,
    pub address: SocketAddr,
    pub facility: Uuid,
    login: String,
    password: String,
}

/// Megabytes (10^6 bytes) of memory that are the process's own or mapped and in use.
pub struct Resident {
    pub now: f64,
    pub most: f64,
}

impl Service {
    /// Adds a facility with one circulator, and serves.
    pub fn start() -> anyhow::Result<Self> {
        let program = std::env::var_os("LOTWARDEN_BENCH_BIN")
            .context("LOTWARDEN_BENCH_BIN names no program; tests/bench/run does")?;
        let program = PathBuf::from(program);
        let mark = Uuid::now_v7().simple().to_string();
        let name = format!("Bench {mark}");
        let (login, password) = (format!("{LOGIN}.{mark}"), Uuid::new_v4().to_string());
        answer_of(
            Command::new(&program).args(["facility", "add", "--zone", "UTC", "--name", &name]),
            "",
        )?;
        answer_of(
            Command::new(&program)
                .args(["people", "add", "--login", &login, "--name", "Bench"])
                .args(["--role", "circulator", "--facility", &name]),
            &password,
        )?;
        let list = answer_of(
            Command::new(&program).args(["facility", "list", "--json"]),
            "",
        )?;
        let facility = list
            .lines()
            .filter_map(|line| serde_json::from_str::<Value>(line).ok())
            .find(|facility| facility["name"] == name)
            .context("the facility is not listed")?;
        let facility = facility["id"].as_str().context("no id")?.parse()?;
        let process = Command::new(&program)
            .args(["serve", "--listen", "127.0.0.1:0", "--log", "warn"])
            .args(["--requests-per-minute", "100000000"])
            .stdout(Stdio::null())
            .spawn()?;
        let mut service = Self {
            program,
            process,
            address: SocketAddr::from(([127, 0, 0, 1], 0)),
            facility,
            login,
            password,
        };
        let status = answer_of(
            Command::new(&service.program).args(["status", "--wait", "60", "--json"]),
            "",
        )?;
        let status: Value = serde_json::from_str(&status)?;
        let address = status["address"]
            .as_str()
            .context("the service has no address")?;
        service.address = address.trim_start_matches("http://").parse()?;
        Ok(service)
    }

    /// Signs in.
    pub async fn token(&self) -> anyhow::Result<String> {
        let body = json!({"login": self.login, "password": self.password}).to_string();
        let request = format!(
            "POST /v1/sessions HTTP/1.1\r\nHost: bench\r\nContent-Type: application/json\r\n\
             Content-Length: {}\r\n\r\n{body}",
            body.len()
        );
        let mut connection = Connection::open(self.address).await?;
        let answer = connection.ask(request.as_bytes()).await?;
        anyhow::ensure!(answer.status == 201, "cannot sign in: {}", answer.text());
        let session: Value = serde_json::from_str(&answer.text())?;
        let token = session["access_token"]
            .as_str()
            .context("no access token")?;
        Ok(token.to_owned())
    }

    /// What the kernel says of the process (proc_pid_status(5)).
    pub fn resident(&self) -> anyhow::Result<Resident> {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.process.id()))?;
        let megabytes = |member: &str| -> anyhow::Result<f64> {
            let line = status.lines().find_map(|line| line.strip_prefix(member));
            let kibibytes = line.and_then(|line| line.split_whitespace().next());
            let kibibytes: f64 = kibibytes.context("no such member")?.parse()?;
            Ok(round(kibibytes * 1024.0 / 1e6, 1))
        };
        Ok(Resident {
            now: megabytes("VmRSS:")?,
            most: megabytes("VmHWM:")?,
        })
    }

    /// Ends the process as an operator does; the cluster stays.
    pub fn stop(&mut self) -> anyhow::Result<()> {
        let process = self.process.id().to_string();
        let told = Command::new("kill").args(["-TERM", &process]).status()?;
        anyhow::ensure!(told.success(), "the service was gone before it was stopped");
        anyhow::ensure!(
            self.process.wait()?.success(),
            "the service ended with a failure"
        );
        Ok(())
    }
}

impl Drop for Service {
    /// A run that fails leaves no service behind; after `stop` there is nothing to end.
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// What a command prints, given a line on standard input.
fn answer_of(command: &mut Command, line: &str) -> anyhow::Result<String> {
    let mut process = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .context("the program cannot be run")?;
    if let Some(mut input) = process.stdin.take() {
        // A command that asks for nothing may have closed it.
        let _ = writeln!(input, "{line}");
    }
    let output = process.wait_with_output()?;
    anyhow::ensure!(output.status.success(), "{command:?} failed");
    Ok(String::from_utf8(output.stdout)?)
}
