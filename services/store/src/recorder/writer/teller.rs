//! Tells callers what was recorded, in a task of its own: waking as many callers as a batch has takes
//! as long as judging some scans, and the next batch is to be on its way to PostgreSQL first.

use super::retries::{Told, tell};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use tokio::sync::{mpsc, oneshot};

enum Done {
    Scans(Told),
    Fence(oneshot::Sender<()>),
}

/// The writer's end.
pub(super) struct Teller {
    sender: mpsc::UnboundedSender<Done>,
    scans: Arc<AtomicUsize>,
}

impl Teller {
    /// Starts the teller of a writer; it ends with this end.
    pub(super) fn start() -> Self {
        let (sender, receiver) = mpsc::unbounded_channel();
        let scans = Arc::new(AtomicUsize::new(0));
        tokio::spawn(work(receiver, Arc::clone(&scans)));
        Self { sender, scans }
    }

    /// Recorded scans whose callers are not told yet.
    pub(super) fn scans(&self) -> usize {
        self.scans.load(Ordering::Relaxed)
    }

    /// Tells the callers.
    pub(super) fn tell(&self, told: Told) {
        self.scans.fetch_add(told.len(), Ordering::Relaxed);
        let _ = self.sender.send(Done::Scans(told));
    }

    /// Answers the fence after everything before it.
    pub(super) fn fence(&self, fence: oneshot::Sender<()>) {
        let _ = self.sender.send(Done::Fence(fence));
    }
}

async fn work(mut receiver: mpsc::UnboundedReceiver<Done>, scans: Arc<AtomicUsize>) {
    while let Some(done) = receiver.recv().await {
        match done {
            Done::Scans(told) => {
                scans.fetch_sub(told.len(), Ordering::Relaxed);
                tell(told);
            }
            Done::Fence(fence) => {
                let _ = fence.send(());
            }
        }
    }
}
