//! A private authority in the data directory, and the certificate it gives the service.
//!
//! Whoever holds the authority's key can make a certificate for any name that trusts it; so it
//! stays beside the master key, open to the service alone, and only its certificate goes to the
//! stations.

use std::fs::{self, DirBuilder, File, OpenOptions};
use std::io::{self, Write};
use std::net::IpAddr;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};
use rcgen::{
    BasicConstraints, CertificateParams, DistinguishedName, DnType, ExtendedKeyUsagePurpose, IsCa,
    Issuer, KeyPair, KeyUsagePurpose, PublicKeyData, date_time_ymd,
};
use sha2::{Digest, Sha256};

use super::{Facts, TlsError};
use crate::settings::TlsFiles;

/// Days that the service's certificate is good for: what browsers take at most of public ones.
const DAYS: i32 = 397;
/// Days that the authority is good for; after them every station needs the next one.
const AUTHORITY_DAYS: i32 = 3_650;
/// Days before its end that a certificate is made anew.
const RENEWED_BEFORE: i64 = 30;

/// What this machine calls itself; the commands that run here ask for these.
const OWN_NAMES: [&str; 3] = ["localhost", "127.0.0.1", "::1"];

/// What was made.
#[derive(Debug)]
pub struct Made {
    /// The authority's certificate, which stations have to trust.
    pub authority: PathBuf,
    /// Whether it was made too.
    pub authority_made: bool,
    /// What the certificate is for.
    pub names: Vec<String>,
    /// The last day it is good for.
    pub ends_on: Date,
}

fn directory(data_dir: &Path) -> PathBuf {
    data_dir.join("tls")
}

fn server(data_dir: &Path) -> PathBuf {
    directory(data_dir).join("server.pem")
}

/// The authority's certificate, where one was made here.
pub fn file(data_dir: &Path) -> Option<PathBuf> {
    let file = directory(data_dir).join("authority.pem");
    file.exists().then_some(file)
}

/// What the certificate that was made here says; nothing stands beside it that could differ.
fn about(data_dir: &Path) -> Result<Option<Facts>, TlsError> {
    let file = server(data_dir);
    file.exists().then(|| Facts::of(&file)).transpose()
}

/// The certificate that was made here, with its key in the same file.
pub(super) fn files(data_dir: &Path) -> Option<TlsFiles> {
    let file = server(data_dir);
    file.exists().then(|| TlsFiles {
        certificate: file.clone(),
        key: file,
    })
}

/// Makes a certificate for names and addresses, and an authority where there is none yet; without
/// names, for those it had.
///
/// # Errors
/// A name fits in no certificate; a file cannot be written.
pub fn make(data_dir: &Path, names: &[String], now: Timestamp) -> Result<Made, TlsError> {
    let names = match names {
        [] => about(data_dir)?.map(|about| about.names),
        names => Some(names.to_vec()),
    };
    let mut all = names.unwrap_or_default();
    all.extend(OWN_NAMES.map(str::to_owned));
    let mut seen = std::collections::BTreeSet::new();
    all.retain(|name| seen.insert(name.clone()));
    if let Some(name) = all.iter().find(|name| !fits(name)) {
        return Err(TlsError::Name(name.clone()));
    }
    let directory = directory(data_dir);
    let io = |source| TlsError::Io {
        path: directory.clone(),
        source,
    };
    let made = DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(&directory);
    made.map_err(io)?;
    let today = now.to_zoned(TimeZone::UTC).date();
    let (issuer, authority_made) = issuer(&directory, today)?;
    let days = lasting(today, DAYS);
    let mut params = CertificateParams::new(all.clone())?;
    last(&mut params, days);
    params.distinguished_name = named(all.first().map_or("lotwarden", String::as_str));
    params.is_ca = IsCa::ExplicitNoCa;
    params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
    params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    params.use_authority_key_identifier_extension = true;
    let key = KeyPair::generate()?;
    let certificate = params.signed_by(&key, &issuer)?;
    // Key and certificate are one file: whoever reads it has a pair that fits.
    let both = format!("{}{}", certificate.pem(), key.serialize_pem());
    write(&server(data_dir), &both, 0o600)?;
    Ok(Made {
        authority: directory.join("authority.pem"),
        authority_made,
        names: all,
        ends_on: Facts::of(&server(data_dir))?.last_day(),
    })
}

/// Makes the certificate anew when its end is near; says whether it did.
///
/// # Errors
/// As [`make`].
pub(super) fn renew(data_dir: &Path, now: Timestamp) -> Result<bool, TlsError> {
    let near = |about: &Facts| about.days_left(now) <= RENEWED_BEFORE;
    let Some(about) = about(data_dir)?.filter(near) else {
        return Ok(false);
    };
    make(data_dir, &about.names, now)?;
    Ok(true)
}

/// The authority's key and name; made with its certificate where there is none.
fn issuer(directory: &Path, today: Date) -> Result<(Issuer<'static, KeyPair>, bool), TlsError> {
    let file = directory.join("authority.key");
    let kept = read(&file)?;
    let key = match &kept {
        Some(pem) => KeyPair::from_pem(pem)?,
        None => KeyPair::generate()?,
    };
    // Its name tells one authority from another, and follows from the key.
    let digest = Sha256::digest(key.der_bytes());
    let tag: String = digest
        .iter()
        .take(4)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let mut params = CertificateParams::default();
    last(&mut params, lasting(today, AUTHORITY_DAYS));
    params.distinguished_name = named(&format!("lotwarden authority {tag}"));
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    if kept.is_none() {
        let certificate = params.self_signed(&key)?.pem();
        write(&directory.join("authority.pem"), &certificate, 0o644)?;
        write(&file, &key.serialize_pem(), 0o600)?;
    }
    Ok((Issuer::new(params, key), kept.is_none()))
}

fn named(name: &str) -> DistinguishedName {
    let mut distinguished = DistinguishedName::new();
    distinguished.push(DnType::CommonName, name);
    distinguished
}

/// From the day before, because not every clock is right, for so many days.
fn lasting(today: Date, days: i32) -> (Date, Date) {
    let day = |days| today.saturating_add(Span::new().days(days));
    (day(-1), day(days - 1))
}

/// Says in a certificate that it is good on these days.
fn last(params: &mut CertificateParams, (begins_on, ends_on): (Date, Date)) {
    let date = |date: Date| {
        let (month, day) = (date.month().unsigned_abs(), date.day().unsigned_abs());
        date_time_ymd(date.year().into(), month, day)
    };
    (params.not_before, params.not_after) = (date(begins_on), date(ends_on));
}

/// A host name (RFC 1123, 2.1) or an address.
fn fits(name: &str) -> bool {
    let label = |label: &str| {
        (1..=63).contains(&label.len())
            && label
                .bytes()
                .all(|b| b.is_ascii_alphanumeric() || b == b'-')
            && !label.starts_with('-')
            && !label.ends_with('-')
    };
    name.parse::<IpAddr>().is_ok() || (name.len() <= 253 && name.split('.').all(label))
}

fn read(path: &Path) -> Result<Option<String>, TlsError> {
    match fs::read_to_string(path) {
        Ok(text) => Ok(Some(text)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(source) => Err(TlsError::Io {
            path: path.to_owned(),
            source,
        }),
    }
}

/// Writes a file whole: whoever reads it sees the former text or this one.
fn write(path: &Path, text: &str, mode: u32) -> Result<(), TlsError> {
    let next = path.with_extension("next");
    let io = |source| TlsError::Io {
        path: path.to_owned(),
        source,
    };
    let _ = fs::remove_file(&next);
    let mut file = OpenOptions::new()
        .create_new(true)
        .write(true)
        .mode(mode)
        .open(&next)
        .map_err(io)?;
    file.write_all(text.as_bytes())
        .and_then(|()| file.sync_all())
        .and_then(|()| fs::rename(&next, path))
        .and_then(|()| match path.parent() {
            Some(directory) => File::open(directory)?.sync_all(),
            None => Ok(()),
        })
        .map_err(io)
}
