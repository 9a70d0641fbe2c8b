//! Every setting, declared once: flags, environment names, file keys and the
//! printed table all come from this list.

/// Names one setting; the discriminant is its row in [`DECLARED`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// Directory of everything the service keeps outside the database.
    DataDir,
    /// Address and port of the HTTP service.
    Listen,
    /// Certificate that the service shows.
    TlsCertificate,
    /// Its key.
    TlsSecret,
    /// Whether a proxy in front of the service ends TLS.
    BehindProxy,
    /// Login the service works with.
    DatabaseUrl,
    /// Login that migrates.
    OwnerUrl,
    /// Database connections of one process.
    DatabaseConnections,
    /// File with the master key.
    MasterKeyFile,
    /// PostgreSQL's server programs.
    PgBin,
    /// Worker threads of the HTTP service.
    Workers,
    /// Requests a minute that one person may make.
    RequestsPerMinute,
    /// Networks that webhooks may be in.
    WebhookNetworks,
    /// Log filter.
    Log,
    /// Log format.
    LogFormat,
}

/// What a setting is when nobody sets it.
#[derive(Clone, Copy, Debug)]
pub enum Fallback {
    /// Exactly this text.
    Text(&'static str),
    /// The place the operating system keeps service or user data.
    SystemDataDir,
    /// A file of this name in the data directory.
    InDataDir(&'static str),
    /// One for each processor.
    Processors,
    /// No value; the text says what happens then.
    Nothing(&'static str),
}

/// One row of the table of settings.
#[derive(Debug)]
pub struct Declared {
    /// Which setting this is.
    pub key: Key,
    /// Key in the settings file; flag and variable are derived from it.
    pub name: &'static str,
    /// Placeholder of the value in help texts.
    pub placeholder: &'static str,
    /// Value when no source sets it.
    pub fallback: Fallback,
    /// Whether the value may hold a password.
    pub secret: bool,
    /// One sentence for the person who runs the service.
    pub meaning: &'static str,
}

impl Declared {
    /// Name of the environment variable, as in `LOTWARDEN_DATA_DIR`.
    pub fn variable(&self) -> String {
        format!("LOTWARDEN_{}", self.name.to_ascii_uppercase())
    }

    /// Name of the flag without its dashes, as in `data-dir`.
    pub fn flag(&self) -> String {
        self.name.replace('_', "-")
    }
}

/// All settings, in the order in which they are printed.
pub const DECLARED: &[Declared] = &[
    Declared {
        key: Key::DataDir,
        name: "data_dir",
        placeholder: "DIR",
        fallback: Fallback::SystemDataDir,
        secret: false,
        meaning: "Directory of the private PostgreSQL, the keys and the log.",
    },
    Declared {
        key: Key::Listen,
        name: "listen",
        placeholder: "ADDRESS:PORT",
        fallback: Fallback::Text("127.0.0.1:8480"),
        secret: false,
        meaning: "Address and port the service answers on.",
    },
    Declared {
        key: Key::TlsCertificate,
        name: "tls_certificate",
        placeholder: "FILE",
        fallback: Fallback::Nothing(
            "the one that `lotwarden tls make` made, else plain HTTP on this machine alone",
        ),
        secret: false,
        meaning: "Certificate that the service shows, with those between it and its authority (PEM); read again when the file changes. With TLS, plain HTTP is not answered.",
    },
    Declared {
        key: Key::TlsSecret,
        name: "tls_key",
        placeholder: "FILE",
        fallback: Fallback::Nothing("with tls_certificate only"),
        secret: false,
        meaning: "Key of the certificate (PEM, PKCS #8), open to the service alone.",
    },
    Declared {
        key: Key::BehindProxy,
        name: "behind_proxy",
        placeholder: "yes|no",
        fallback: Fallback::Text("no"),
        secret: false,
        meaning: "yes when a proxy in front of the service ends TLS. Without it, and without a certificate, the service refuses to listen where other machines reach it.",
    },
    Declared {
        key: Key::DatabaseUrl,
        name: "database_url",
        placeholder: "URL",
        fallback: Fallback::Nothing("a private PostgreSQL in the data directory"),
        secret: true,
        meaning: "Login the service works with, a member of lotwarden_app; when set, that server is used and no other. On a command line other users can see it.",
    },
    Declared {
        key: Key::OwnerUrl,
        name: "owner_url",
        placeholder: "URL",
        fallback: Fallback::Nothing("database_url migrates too"),
        secret: true,
        meaning: "Login that makes the group roles and migrates, a member of lotwarden_owner; only with database_url.",
    },
    Declared {
        key: Key::DatabaseConnections,
        name: "database_connections",
        placeholder: "N",
        fallback: Fallback::Text("16"),
        secret: false,
        meaning: "Most database connections of one service process.",
    },
    Declared {
        key: Key::MasterKeyFile,
        name: "master_key_file",
        placeholder: "FILE",
        fallback: Fallback::InDataDir("master.key"),
        secret: false,
        meaning: "File with the key that wraps every facility key; made at the first start. Without it sealed patient identity cannot be read again: keep a copy elsewhere.",
    },
    Declared {
        key: Key::PgBin,
        name: "pg_bin",
        placeholder: "DIR",
        fallback: Fallback::Nothing("the newest in /usr/lib/postgresql, or pg_config's"),
        secret: false,
        meaning: "Directory of PostgreSQL's server programs for the private cluster.",
    },
    Declared {
        key: Key::Workers,
        name: "workers",
        placeholder: "N",
        fallback: Fallback::Processors,
        secret: false,
        meaning: "Threads that answer requests.",
    },
    Declared {
        key: Key::RequestsPerMinute,
        name: "requests_per_minute",
        placeholder: "N",
        fallback: Fallback::Text("6000"),
        secret: false,
        meaning: "Most requests one person may make a minute; further ones answer 429.",
    },
    Declared {
        key: Key::WebhookNetworks,
        name: "webhook_networks",
        placeholder: "NETWORKS",
        fallback: Fallback::Text(""),
        secret: false,
        meaning: "Networks that not everybody reaches and webhooks may be in, such as 10.20.0.0/16; whatever listens there can be reached through a webhook.",
    },
    Declared {
        key: Key::Log,
        name: "log",
        placeholder: "FILTER",
        fallback: Fallback::Text("info,actix_server=warn"),
        secret: false,
        meaning: "What is logged: error, warn, info, debug, or a filter such as info,lotwarden_store=debug.",
    },
    Declared {
        key: Key::LogFormat,
        name: "log_format",
        placeholder: "text|json",
        fallback: Fallback::Text("text"),
        secret: false,
        meaning: "How a log line looks.",
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_finds_its_own_row() {
        for (row, declared) in DECLARED.iter().enumerate() {
            assert_eq!(declared.key as usize, row, "{}", declared.name);
        }
        assert_eq!(Key::LogFormat as usize + 1, DECLARED.len());
    }
}
