//! A file to take in: its hash, and its characters.

use std::fs::File;
use std::io::{self, BufRead, BufReader, Read, Seek};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use anyhow::Context;
use flate2::bufread::MultiGzDecoder;
use sha2::{Digest, Sha256};

/// Bytes read at once.
const BUFFER: usize = 1 << 16;
/// The first two bytes of a gzip file (RFC 1952, 2.3.1).
const GZIP: [u8; 2] = [0x1f, 0x8b];

/// A file that is ready to be read from its beginning.
pub struct Source {
    /// Its characters, uncompressed.
    pub reader: Box<dyn BufRead + Send>,
    /// SHA-256 of its bytes as they lie on the disk, in lower-case hexadecimal digits.
    pub sha256: String,
    /// Its length on the disk.
    pub length: u64,
    /// Bytes of it that were read so far.
    pub read: Arc<AtomicU64>,
}

impl Source {
    /// Opens and hashes a file.
    ///
    /// # Errors
    /// It cannot be read, or is compressed and broken.
    pub fn open(path: &Path) -> anyhow::Result<Self> {
        let open = || -> io::Result<Self> {
            let mut file = File::open(path)?;
            let length = file.metadata()?.len();
            let sha256 = sha256(&mut file)?;
            file.rewind()?;
            let read = Arc::new(AtomicU64::new(0));
            let counted = Counted {
                file,
                read: Arc::clone(&read),
            };
            let mut raw = BufReader::with_capacity(BUFFER, counted);
            let reader: Box<dyn BufRead + Send> = if raw.fill_buf()?.starts_with(&GZIP) {
                Box::new(BufReader::with_capacity(BUFFER, MultiGzDecoder::new(raw)))
            } else {
                Box::new(raw)
            };
            Ok(Self {
                reader,
                sha256,
                length,
                read,
            })
        };
        open().with_context(|| format!("cannot read {}", path.display()))
    }
}

fn sha256(file: &mut File) -> io::Result<String> {
    let mut hash = Sha256::new();
    let mut buffer = vec![0; BUFFER];
    loop {
        match file.read(&mut buffer)? {
            0 => break,
            count => hash.update(&buffer[..count]),
        }
    }
    let digits = hash.finalize();
    Ok(digits.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// Counts the bytes it gives away.
struct Counted {
    file: File,
    read: Arc<AtomicU64>,
}

impl Read for Counted {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.file.read(into)?;
        self.read.fetch_add(count as u64, Ordering::Relaxed);
        Ok(count)
    }
}
