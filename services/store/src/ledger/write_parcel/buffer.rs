//! Between the parcel's writer, which writes at once, and whoever takes the bytes, who may wait.

use std::io::{self, Write};
use std::sync::{Arc, Mutex, PoisonError};

/// Bytes written and not taken yet; clones share them.
#[derive(Clone, Debug, Default)]
pub(super) struct Buffer(Arc<Mutex<Vec<u8>>>);

impl Buffer {
    /// Takes what was written since the last time.
    pub(super) fn take(&self) -> Vec<u8> {
        std::mem::take(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Write for Buffer {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        held.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
