//! TLS (1.2 and 1.3): the certificate that the service shows, the authority it is from when nobody
//! else vouches for it, and whom a client of the command line trusts.

mod authority;
mod client;
mod facts;
mod served;

use std::io;
use std::path::PathBuf;
use std::sync::Arc;

use jiff::Timestamp;
use rustls::crypto::CryptoProvider;

pub use authority::{file as authority, make};
pub use client::{Trust, client};
pub use facts::Facts;
pub use served::Served;

use crate::settings::{Settings, TlsFiles};

/// Why a certificate cannot be made or used.
#[derive(Debug, thiserror::Error)]
pub enum TlsError {
    /// A file cannot be read or written.
    #[error("cannot use {}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// The operating system's reason.
        source: io::Error,
    },
    /// A file is not PEM, or lacks what is asked of it.
    #[error("{} does not hold {what} in PEM", path.display())]
    Malformed {
        /// The file.
        path: PathBuf,
        /// What it must hold.
        what: &'static str,
    },
    /// A name cannot stand in a certificate.
    #[error("`{0}` is neither a host name nor an address")]
    Name(String),
    /// The certificate cannot be made.
    #[error("the certificate cannot be made")]
    Making(#[from] rcgen::Error),
    /// The certificate cannot be used.
    #[error("the certificate and key cannot be used")]
    Using(#[from] rustls::Error),
}

/// The files of the certificate: those of the settings, else those that were made here.
pub fn files(settings: &Settings) -> Option<TlsFiles> {
    settings
        .tls
        .clone()
        .or_else(|| authority::files(&settings.data_dir))
}

/// Days before an authority's end that it is spoken of: every station needs the next one, and that
/// takes a while.
const AUTHORITY_WARNED: i64 = 365;

/// What to do about an authority whose last year has begun.
pub fn ends_soon(authority: &Facts, now: Timestamp) -> Option<String> {
    let days = authority.days_left(now);
    (days <= AUTHORITY_WARNED).then(|| {
        format!(
            "the authority that stations trust ends after {} ({days} days); move tls/authority.key away, run `lotwarden tls make`, and install the new authority at every station before",
            authority.last_day()
        )
    })
}

fn provider() -> Arc<CryptoProvider> {
    Arc::new(rustls::crypto::aws_lc_rs::default_provider())
}
