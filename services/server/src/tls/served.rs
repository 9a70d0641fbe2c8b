//! The certificate as it is shown, read again when its file changes.

use std::path::{Path, PathBuf};
use std::sync::{Arc, PoisonError, RwLock};
use std::time::Duration;

use lotwarden_domain::{Causes, Clock, SystemClock};
use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::server::{ClientHello, ResolvesServerCert};
use rustls::sign::CertifiedKey;
use rustls::version::{TLS12, TLS13};

use super::{TlsError, authority, provider};
use crate::settings::TlsFiles;

/// How often the files are looked at.
const LOOK: Duration = Duration::from_secs(10);

/// A certificate with its key, and where they come from.
#[derive(Clone, Debug)]
pub struct Served {
    files: TlsFiles,
    data_dir: PathBuf,
    shown: Arc<Shown>,
}

#[derive(Debug)]
struct Shown(RwLock<Arc<CertifiedKey>>);

impl ResolvesServerCert for Shown {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(Arc::clone(
            &self.0.read().unwrap_or_else(PoisonError::into_inner),
        ))
    }
}

impl Served {
    /// Reads certificate and key; one that was made here and is near its end is made anew first.
    ///
    /// # Errors
    /// A file cannot be read, or the key is not the certificate's.
    pub fn open(files: TlsFiles, data_dir: &Path) -> Result<Self, TlsError> {
        renew(&files, data_dir)?;
        let shown = Shown(RwLock::new(Arc::new(read(&files)?)));
        Ok(Self {
            files,
            data_dir: data_dir.to_owned(),
            shown: Arc::new(shown),
        })
    }

    /// What the service's port speaks: TLS 1.2 and 1.3, without client certificates.
    ///
    /// # Errors
    /// The versions cannot be offered.
    pub fn config(&self) -> Result<ServerConfig, TlsError> {
        let versions = [&TLS13, &TLS12];
        let config = ServerConfig::builder_with_provider(provider())
            .with_protocol_versions(&versions)?
            .with_no_client_auth();
        Ok(config.with_cert_resolver(Arc::clone(&self.shown) as Arc<dyn ResolvesServerCert>))
    }

    /// For ever: makes the certificate anew before its end, and shows what the files hold now.
    pub async fn keep_up(self) {
        loop {
            tokio::time::sleep(LOOK).await;
            let renewed = renew(&self.files, &self.data_dir);
            match renewed.and_then(|()| read(&self.files)) {
                Ok(key) => {
                    let mut shown = self.shown.0.write().unwrap_or_else(PoisonError::into_inner);
                    if shown.cert != key.cert {
                        tracing::info!("another certificate is shown");
                        *shown = Arc::new(key);
                    }
                }
                // The former one is still good, or stations say that it is not.
                Err(error) => {
                    tracing::warn!(error = %Causes(&error), "the certificate is not read again");
                }
            }
        }
    }
}

/// Makes the certificate anew when it is one that was made here and is near its end.
fn renew(files: &TlsFiles, data_dir: &Path) -> Result<(), TlsError> {
    if authority::files(data_dir).as_ref() == Some(files) {
        authority::renew(data_dir, SystemClock.now())?;
    }
    Ok(())
}

fn read(files: &TlsFiles) -> Result<CertifiedKey, TlsError> {
    let chain = certificates(&files.certificate)?;
    let malformed = || TlsError::Malformed {
        path: files.key.clone(),
        what: "a key",
    };
    let key = PrivateKeyDer::from_pem_file(&files.key).map_err(|_| malformed())?;
    Ok(CertifiedKey::from_der(chain, key, &provider())?)
}

/// The certificates of a file, at least one.
pub(super) fn certificates(path: &Path) -> Result<Vec<CertificateDer<'static>>, TlsError> {
    let malformed = || TlsError::Malformed {
        path: path.to_owned(),
        what: "a certificate",
    };
    let all = CertificateDer::pem_file_iter(path).map_err(|_| malformed())?;
    let all: Vec<_> = all.collect::<Result<_, _>>().map_err(|_| malformed())?;
    if all.is_empty() {
        return Err(malformed());
    }
    Ok(all)
}
