//! Commands that need neither a service nor its data directory ask for none.

use crate::harness::binaries::lotwarden;
use std::fs::{self, Permissions};
use std::io::Write;
use std::os::unix::fs::PermissionsExt;
use std::os::unix::process::CommandExt;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};
use uuid::Uuid;

/// An account that is not root and whose environment names no home.
struct Homeless {
    directory: PathBuf,
}

impl Homeless {
    fn new() -> Self {
        let name = format!("lotwarden-homeless-{}", Uuid::new_v4().simple());
        let directory = std::env::temp_dir().join(name);
        fs::create_dir(&directory).expect("a directory can be made");
        // Any account writes there, and runs the program even where root's home is closed.
        fs::set_permissions(&directory, Permissions::from_mode(0o777)).expect("its mode");
        // By another process: a child that another test forks meanwhile would inherit the copy
        // open for writing, and such a file cannot be run.
        let copied = Command::new("cp").arg(lotwarden()).arg(&directory).status();
        assert!(
            copied.is_ok_and(|status| status.success()),
            "the program is copied"
        );
        Self { directory }
    }

    fn run(&self, arguments: &[&str], input: &str) -> Output {
        let mut command = Command::new(self.directory.join("lotwarden"));
        command
            .args(arguments)
            .env_clear()
            .current_dir(&self.directory)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        if rustix::process::geteuid().is_root() {
            // Root has a data directory of its own; `nobody` has none.
            command.uid(65534).gid(65534);
        }
        let mut child = command.spawn().expect("lotwarden runs");
        let mut to = child.stdin.take().expect("an input");
        // A command that reads nothing may have ended before.
        let _ = to.write_all(input.as_bytes());
        drop(to);
        child.wait_with_output().expect("lotwarden ends")
    }
}

impl Drop for Homeless {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.directory);
    }
}

#[test]
fn what_needs_no_data_directory_runs_for_an_account_without_a_home() {
    let account = Homeless::new();
    let (place, page) = (["--output", "place.svg"], ["--output", "page.pdf"]);
    let cases: [(&[&str], &str, &str); 7] = [
        (&["read"], "(01)09520123456788\n", "09520123456788"),
        (
            &["compute", "deadline"],
            r#"{"aware_on": "2026-01-16"}"#,
            "2026-",
        ),
        (&["notices", "read"], "Lot # 8D1082", "8D1082"),
        (
            &[&["labels"], &place[..], &["(91)SHELF-3"]].concat(),
            "",
            "",
        ),
        (&[&["station", "test-page"], &page[..]].concat(), "", ""),
        (&["settings"], "", "data_dir = (none: "),
        (&["settings", "listen"], "", "127.0.0.1:8480"),
    ];
    for (arguments, input, shown) in cases {
        let output = account.run(arguments, input);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{arguments:?}: {said}");
        let told = String::from_utf8_lossy(&output.stdout);
        assert!(told.contains(shown), "{arguments:?}: {told}");
    }
    assert!(account.directory.join("place.svg").exists());
    assert!(account.directory.join("page.pdf").exists());
    // The three symbols are missing, which is its answer and no fault.
    let check = account.run(&["station", "check"], "");
    assert_eq!(check.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&check.stdout).contains("does not pass"));
}

#[test]
fn what_needs_a_data_directory_says_how_to_name_one() {
    let output = Homeless::new().run(&["status"], "");
    assert!(!output.status.success());
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(said.contains("set LOTWARDEN_DATA_DIR"), "{said}");
}
