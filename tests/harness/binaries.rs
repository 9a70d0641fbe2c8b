//! The programs under test.

use super::root;
use std::path::PathBuf;
use std::process::Command;
use std::sync::OnceLock;

/// `lotwarden`, from LOTWARDEN_TEST_BIN, else built now by the cargo that runs the tests, so that
/// `cargo test` never meets a stale one.
pub fn lotwarden() -> PathBuf {
    directory().join("lotwarden")
}

/// `lotwarden-verify`, as above.
pub fn lotwarden_verify() -> PathBuf {
    directory().join("lotwarden-verify")
}

fn directory() -> &'static PathBuf {
    static DIRECTORY: OnceLock<PathBuf> = OnceLock::new();
    DIRECTORY.get_or_init(|| match std::env::var_os("LOTWARDEN_TEST_BIN") {
        Some(directory) => directory.into(),
        None => built(),
    })
}

fn built() -> PathBuf {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| env!("CARGO").into());
    let status = Command::new(cargo)
        .args([
            "build",
            "--quiet",
            "-p",
            "lotwarden",
            "-p",
            "lotwarden-verify",
            "--bins",
        ])
        .current_dir(root())
        .status();
    let built = status.expect("cargo can be run").success();
    assert!(built, "the programs under test do not build");
    // target/debug/deps/lotwarden-<hash> -> target/debug
    let own = std::env::current_exe().expect("this process has a file");
    own.ancestors()
        .nth(2)
        .expect("cargo puts tests two levels down")
        .to_owned()
}
