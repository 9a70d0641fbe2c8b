//! The file that says which process serves a data directory, and where.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, Write};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use crate::settings::ensure_data_dir;

const NAME: &str = "lotwarden.pid";

/// Why the file cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum PidFileError {
    /// Another process serves this data directory.
    #[error("a service is already running on {} (process {process})", data_dir.display())]
    Running {
        /// The directory.
        data_dir: PathBuf,
        /// Its process number.
        process: u32,
    },
    /// The operating system refuses.
    #[error("cannot use {}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// The operating system's reason.
        source: io::Error,
    },
}

/// A process that serves.
#[derive(Clone, Copy, Debug)]
pub struct Running {
    /// Its process number.
    pub process: u32,
    /// Where it answers; nothing while it is starting.
    pub address: Option<Address>,
}

/// Where a service answers.
#[derive(Clone, Copy, Debug)]
pub struct Address {
    /// The address and port.
    pub socket: SocketAddr,
    /// Whether it speaks TLS.
    pub tls: bool,
}

impl Address {
    /// The same from this machine: a service that listens on every address answers on its own.
    #[must_use]
    pub fn here(self) -> Self {
        let ip = match self.socket.ip() {
            IpAddr::V4(ip) if ip.is_unspecified() => Ipv4Addr::LOCALHOST.into(),
            IpAddr::V6(ip) if ip.is_unspecified() => Ipv6Addr::LOCALHOST.into(),
            ip => ip,
        };
        let socket = SocketAddr::new(ip, self.socket.port());
        Self { socket, ..self }
    }
}

impl std::fmt::Display for Address {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let scheme = if self.tls { "https" } else { "http" };
        write!(f, "{scheme}://{}", self.socket)
    }
}

impl std::str::FromStr for Address {
    type Err = std::net::AddrParseError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let (tls, socket) = match text.strip_prefix("https://") {
            Some(socket) => (true, socket),
            None => (false, text.strip_prefix("http://").unwrap_or(text)),
        };
        let socket = socket.parse()?;
        Ok(Self { socket, tls })
    }
}

/// Held by the process that serves; the operating system releases it however the process ends.
pub struct PidFile {
    file: File,
    path: PathBuf,
}

impl PidFile {
    /// Takes the data directory for this process.
    ///
    /// # Errors
    /// Another process has it.
    pub fn take(data_dir: &Path) -> Result<Self, PidFileError> {
        let path = data_dir.join(NAME);
        let io = |source| PidFileError::Io {
            path: path.clone(),
            source,
        };
        ensure_data_dir(data_dir).map_err(io)?;
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .read(true)
            .write(true)
            // Who can open the file can hold its lock.
            .mode(0o600)
            .open(&path)
            .map_err(io)?;
        if !lock(&file).map_err(io)? {
            let process = parse(&file).map_or(0, |running| running.process);
            return Err(PidFileError::Running {
                data_dir: data_dir.to_owned(),
                process,
            });
        }
        let mut taken = Self { file, path };
        taken.write(&format!("{}\n", std::process::id()))?;
        Ok(taken)
    }

    /// Adds the address, once the port is open.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn announce(&mut self, address: Address) -> Result<(), PidFileError> {
        self.write(&format!("{}\n{address}\n", std::process::id()))
    }

    fn write(&mut self, text: &str) -> Result<(), PidFileError> {
        // Shortened last: a reader never finds the file empty.
        let written = self
            .file
            .rewind()
            .and_then(|()| self.file.write_all(text.as_bytes()))
            .and_then(|()| self.file.set_len(text.len() as u64));
        written.map_err(|source| PidFileError::Io {
            path: self.path.clone(),
            source,
        })
    }
}

/// Takes the lock; false when another process serves.
///
/// Whoever asks who serves holds the lock for a moment together with others. That is no reason
/// to refuse, so it is waited for.
fn lock(file: &File) -> io::Result<bool> {
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(true),
            Err(TryLockError::WouldBlock) => {}
            Err(TryLockError::Error(source)) => return Err(source),
        }
        match file.try_lock_shared() {
            Ok(()) => file.unlock()?,
            Err(TryLockError::WouldBlock) => return Ok(false),
            Err(TryLockError::Error(source)) => return Err(source),
        }
        sleep(Duration::from_millis(1));
    }
}

/// Finds the process that serves a data directory.
///
/// The lock decides, not the number: after a crash the file remains and its
/// number may belong to any other process.
///
/// # Errors
/// The file exists and cannot be read.
pub fn running(data_dir: &Path) -> Result<Option<Running>, PidFileError> {
    let path = data_dir.join(NAME);
    let io = |source| PidFileError::Io {
        path: path.clone(),
        source,
    };
    let file = match File::open(&path) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(source) => return Err(io(source)),
    };
    match file.try_lock_shared() {
        Ok(()) => Ok(None),
        Err(TryLockError::WouldBlock) => Ok(parse(&file)),
        Err(TryLockError::Error(source)) => Err(io(source)),
    }
}

fn parse(mut file: &File) -> Option<Running> {
    let mut text = String::new();
    file.read_to_string(&mut text).ok()?;
    let mut lines = text.lines();
    let process = lines.next()?.parse().ok()?;
    let address = lines.next().and_then(|line| line.parse().ok());
    Some(Running { process, address })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicBool, Ordering};

    #[test]
    fn asking_who_serves_keeps_no_service_from_starting() {
        let name = format!("lw-pid-file-{}", std::process::id());
        let data_dir = std::env::temp_dir().join(name);
        let ended = AtomicBool::new(false);
        let refused = std::thread::scope(|scope| {
            scope.spawn(|| {
                while !ended.load(Ordering::Relaxed) {
                    running(&data_dir).unwrap();
                }
            });
            let refused = (0..2000).find_map(|_| PidFile::take(&data_dir).err());
            ended.store(true, Ordering::Relaxed);
            refused
        });
        assert!(refused.is_none(), "{refused:?}");
        std::fs::remove_dir_all(data_dir).unwrap();
    }

    #[test]
    fn a_second_service_is_refused_and_the_first_is_named() {
        let name = format!("lw-pid-file-second-{}", std::process::id());
        let data_dir = std::env::temp_dir().join(name);
        let mut first = PidFile::take(&data_dir).unwrap();
        let address = "https://127.0.0.1:8480".parse().unwrap();
        first.announce(address).unwrap();
        let refused = PidFile::take(&data_dir).err().unwrap().to_string();
        let own = std::process::id();
        assert!(refused.contains(&format!("(process {own})")), "{refused}");
        let found = running(&data_dir).unwrap().unwrap();
        assert_eq!(found.process, own);
        assert_eq!(found.address.unwrap().to_string(), address.to_string());
        drop(first);
        assert!(running(&data_dir).unwrap().is_none());
        std::fs::remove_dir_all(data_dir).unwrap();
    }
}
