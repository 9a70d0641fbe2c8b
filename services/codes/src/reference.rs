//! Test vectors outside the tree: `LOTWARDEN_REFERENCE`, or `shared/reference` beside the
//! workspace.

use std::path::PathBuf;

/// The file's text, or nothing with a printed reason.
pub(crate) fn text(name: &str) -> Option<String> {
    let folder = std::env::var_os("LOTWARDEN_REFERENCE")
        .map(PathBuf::from)
        .unwrap_or_else(|| {
            PathBuf::from(concat!(
                env!("CARGO_MANIFEST_DIR"),
                "/../../../shared/reference"
            ))
        });
    let path = folder.join("identification").join(name);
    match std::fs::read_to_string(&path) {
        Ok(text) => Some(text),
        Err(reason) => {
            eprintln!("skipped: {}: {reason}", path.display());
            None
        }
    }
}

/// The list under a key of a JSON file, or an empty list with a printed reason.
pub(crate) fn list(name: &str, key: &str) -> Vec<serde_json::Value> {
    let Some(text) = text(name) else {
        return Vec::new();
    };
    let mut value: serde_json::Value = serde_json::from_str(&text).expect("reference JSON");
    match value[key].take() {
        serde_json::Value::Array(items) => items,
        other => panic!("{name}: {key} is {other}"),
    }
}
