//! The service's own description, as tests walk it.

use reqwest::Method;
use serde_json::Value;
use uuid::Uuid;

/// One operation of the description.
#[derive(Debug)]
pub struct Operation {
    pub id: String,
    pub method: Method,
    /// The path with its parameters in braces.
    pub path: String,
    /// Whether it needs a paired station's credential, and nobody's access token.
    pub station: bool,
    /// Whether it needs no credentials.
    pub public: bool,
    parameters: Vec<(String, bool)>,
}

/// The description as JSON.
pub fn description() -> Value {
    serde_json::to_value(lotwarden_api::openapi::describe()).expect("a description is JSON")
}

/// Every operation of the description.
pub fn operations() -> Vec<Operation> {
    let description = description();
    let paths = description["paths"].as_object().expect("paths");
    let mut operations = Vec::new();
    for (path, item) in paths {
        for (method, operation) in item.as_object().expect("a path's operations") {
            let id = operation["operationId"].as_str();
            let security = operation["security"].as_array();
            operations.push(Operation {
                id: id
                    .unwrap_or_else(|| panic!("{method} {path} has no operationId"))
                    .to_owned(),
                method: method.to_uppercase().parse().expect("a method"),
                path: path.clone(),
                station: security
                    .is_some_and(|all| all.iter().any(|one| one["station"].is_array())),
                // `security: [{}]` and `security: []` both mean that nothing is asked for.
                public: security.is_some_and(|all| {
                    all.iter()
                        .all(|one| one.as_object().is_none_or(|one| one.is_empty()))
                }),
                parameters: parameters(operation),
            });
        }
    }
    operations
}

/// The names of the path's parameters, and whether each is a whole number.
fn parameters(operation: &Value) -> Vec<(String, bool)> {
    let all = operation["parameters"]
        .as_array()
        .cloned()
        .unwrap_or_default();
    let in_path = all.iter().filter(|parameter| parameter["in"] == "path");
    let named = in_path.map(|parameter| {
        let name = parameter["name"]
            .as_str()
            .expect("a parameter's name")
            .to_owned();
        (name, parameter["schema"]["type"] == "integer")
    });
    named.collect()
}

impl Operation {
    /// The names of the parameters in the path.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.parameters.iter().map(|(name, _)| name.as_str())
    }

    /// The path with values in the place of its parameters.
    pub fn filled(&self, value: impl Fn(&str) -> String) -> String {
        self.names().fold(self.path.clone(), |path, name| {
            path.replace(&format!("{{{name}}}"), &value(name))
        })
    }

    /// The path to something that is not there.
    pub fn to_nothing(&self) -> String {
        let whole = |name: &str| {
            self.parameters
                .iter()
                .any(|(known, whole)| known == name && *whole)
        };
        self.filled(|name| {
            if whole(name) {
                "999999".to_owned()
            } else {
                Uuid::new_v4().to_string()
            }
        })
    }
}
