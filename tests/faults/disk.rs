//! A full disk.

use super::load::Load;
use crate::harness::Instance;
use std::io::Write;
use std::path::PathBuf;
use std::process::Command;
use std::time::Duration;

/// A small file system in memory, unmounted with this value.
struct SmallDisk(PathBuf);

impl SmallDisk {
    /// None where this account may not mount.
    fn mount() -> Option<Self> {
        let path =
            std::env::temp_dir().join(format!("lotwarden-disk-{}", uuid::Uuid::new_v4().simple()));
        std::fs::create_dir(&path).ok()?;
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=256m,mode=0755", "tmpfs"])
            .arg(&path)
            .output();
        let mounted = mounted.is_ok_and(|output| output.status.success());
        if !mounted {
            let _ = std::fs::remove_dir(&path);
        }
        mounted.then_some(Self(path))
    }

    /// Fills it up to the last byte.
    fn fill(&self) {
        let mut file = std::fs::File::create(self.0.join("ballast")).expect("a file");
        let mut piece = vec![0; 1 << 20];
        while !piece.is_empty() {
            if file.write_all(&piece).is_err() {
                piece.truncate(piece.len() / 2);
            }
        }
    }

    fn free(&self) {
        std::fs::remove_file(self.0.join("ballast")).expect("the ballast");
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(&self.0).status();
        let _ = std::fs::remove_dir(&self.0);
    }
}

#[actix_web::test]
async fn a_full_disk_gives_503_and_loses_nothing() {
    let Some(disk) = SmallDisk::mount() else {
        eprintln!(
            "skipped: a small file system cannot be mounted here (it takes root and the right to mount)"
        );
        return;
    };
    // Declared after the disk, so that it ends before.
    let mut instance = Instance::under(&disk.0);
    instance.start_database();
    instance.serve();
    let mut load = Load::on(&instance).await;
    let callers = load.start();
    actix_web::rt::time::sleep(Duration::from_millis(300)).await;
    disk.fill();
    // The callers end by themselves when each has met a 503.
    for caller in callers {
        let ended = actix_web::rt::time::timeout(Duration::from_secs(120), caller).await;
        ended
            .expect("a caller that meets a full disk is refused")
            .expect("a caller ended in order");
    }
    disk.free();
    // PostgreSQL may have stopped itself, because it could not write its log.
    instance.start_database();
    load.at(&instance);
    load.retry().await;
    assert!(load.acknowledged() > 0);
    load.check(&instance).await;
}
