//! How the command line reaches a service, and what it trusts.

use std::path::Path;
use std::sync::Arc;

use reqwest::blocking::{Client, ClientBuilder};
use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::crypto::{WebPkiSupportedAlgorithms, verify_tls12_signature, verify_tls13_signature};
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use rustls::{
    CertificateError, ClientConfig, DigitallySignedStruct, RootCertStore, SignatureScheme,
};

use super::served::certificates;
use super::{TlsError, files, provider};
use crate::settings::Settings;

/// What a client trusts.
#[derive(Clone, Copy, Debug)]
pub enum Trust<'a> {
    /// The very certificate that these settings give the service, whatever its names are: the
    /// client runs beside it and can read its file.
    OfSettings(&'a Settings),
    /// Certificates of an authority, for their names.
    Authority(&'a Path),
}

/// A client of a service, over plain HTTP or TLS, and never through a proxy: the service is on this
/// machine or one of the site's.
///
/// # Errors
/// The certificate that is to be trusted cannot be read.
pub fn client(trust: Trust<'_>) -> Result<ClientBuilder, TlsError> {
    let config =
        ClientConfig::builder_with_provider(provider()).with_safe_default_protocol_versions()?;
    let mut roots = RootCertStore::empty();
    let config = match trust {
        Trust::OfSettings(settings) => match files(settings) {
            Some(files) => {
                let own = certificates(&files.certificate)?.into_iter().next();
                let pinned = Pinned {
                    own,
                    algorithms: provider().signature_verification_algorithms,
                };
                config
                    .dangerous()
                    .with_custom_certificate_verifier(Arc::new(pinned))
            }
            None => config.with_root_certificates(roots),
        },
        Trust::Authority(file) => {
            for certificate in certificates(file)? {
                roots.add(certificate)?;
            }
            config.with_root_certificates(roots)
        }
    };
    let config = config.with_no_client_auth();
    Ok(Client::builder()
        .no_proxy()
        .tls_backend_preconfigured(config))
}

/// Trusts one certificate: no other one, and that one under any name.
#[derive(Debug)]
struct Pinned {
    own: Option<CertificateDer<'static>>,
    algorithms: WebPkiSupportedAlgorithms,
}

impl ServerCertVerifier for Pinned {
    fn verify_server_cert(
        &self,
        end_entity: &CertificateDer<'_>,
        _: &[CertificateDer<'_>],
        _: &ServerName<'_>,
        _: &[u8],
        _: UnixTime,
    ) -> Result<ServerCertVerified, rustls::Error> {
        if self.own.as_ref() == Some(end_entity) {
            Ok(ServerCertVerified::assertion())
        } else {
            let unknown = CertificateError::ApplicationVerificationFailure;
            Err(rustls::Error::InvalidCertificate(unknown))
        }
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        verify_tls12_signature(message, certificate, signed, &self.algorithms)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        verify_tls13_signature(message, certificate, signed, &self.algorithms)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.algorithms.supported_schemes()
    }
}
