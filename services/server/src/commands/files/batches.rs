//! The records of a file, read in batches while those before are being recorded.

use std::ops::ControlFlow;
use std::path::Path;
use std::thread;

use anyhow::{Context, anyhow};
use lotwarden_domain::import::{FileFault, RecordFault};
use tokio::runtime::Runtime;
use tokio::sync::mpsc;

/// Records, and the faults of those that are none.
pub type Batch<T> = Vec<Result<T, RecordFault>>;

/// Reads a file on a thread of its own and hands its records on, `most` at a time and in their
/// order. Reading runs ahead by two batches at most.
///
/// # Errors
/// What `take` fails with, else the file's fault; everything handed on before was taken.
pub fn in_batches<T: Send + 'static>(
    runtime: &Runtime,
    file: &Path,
    most: usize,
    read: impl FnOnce(
        &mut dyn FnMut(Result<T, RecordFault>) -> ControlFlow<()>,
    ) -> Result<(), FileFault>
    + Send
    + 'static,
    mut take: impl AsyncFnMut(Batch<T>) -> anyhow::Result<()>,
) -> anyhow::Result<()> {
    let (send, mut batches) = mpsc::channel(2);
    let reader = thread::spawn(move || {
        let mut batch = Batch::with_capacity(most);
        read(&mut |record| {
            batch.push(record);
            if batch.len() < most {
                return ControlFlow::Continue(());
            }
            let full = std::mem::replace(&mut batch, Batch::with_capacity(most));
            match send.blocking_send(full) {
                Ok(()) => ControlFlow::Continue(()),
                // The other side has failed and says why.
                Err(_) => ControlFlow::Break(()),
            }
        })?;
        if !batch.is_empty() {
            let _ = send.blocking_send(batch);
        }
        Ok::<(), FileFault>(())
    });
    let taken: anyhow::Result<()> = runtime.block_on(async {
        while let Some(batch) = batches.recv().await {
            take(batch).await?;
        }
        Ok(())
    });
    // A reader that waits to hand on a batch hears that nobody takes it.
    drop(batches);
    let read = reader
        .join()
        .map_err(|_| anyhow!("reading the file failed"))?;
    taken?;
    read.with_context(|| format!("{} was read only in part", file.display()))
}
