//! The private server's settings file, rewritten before each start.

use std::fs;
use std::path::Path;

use super::account::Account;
use super::layout::{Layout, LayoutError};

/// Directory, in PostgreSQL's data directory, of settings that come after
/// Debian's; a site's own go into a later file, such as `20-site.conf`.
pub const INCLUDED: &str = "conf.d";

/// Writes `conf.d/10-lotwarden.conf`.
///
/// # Errors
/// The file cannot be written.
pub fn write(layout: &Layout, account: &Account) -> Result<(), LayoutError> {
    let directory = layout.data.join(INCLUDED);
    let file = directory.join("10-lotwarden.conf");
    let attempt = |path: &Path, done: std::io::Result<()>| {
        done.map_err(|source| LayoutError::Io {
            path: path.to_owned(),
            source,
        })
    };
    attempt(&directory, fs::create_dir_all(&directory))?;
    attempt(&directory, account.own(&directory))?;
    let text = text(&layout.sockets.display().to_string(), account);
    attempt(&file, fs::write(&file, text))?;
    attempt(&file, account.own(&file))
}

/// A quarter of the machine's memory, as PostgreSQL's manual advises, and at most 8 GB: a recall reads
/// uses, cases and pieces from all over years of them. Memory is taken as it is used.
fn shared_buffers_mb() -> u64 {
    let machine = rustix::system::sysinfo();
    let bytes = machine.totalram * u64::from(machine.mem_unit);
    (bytes / 4 / 1024 / 1024).clamp(128, 8192)
}

fn text(sockets: &str, account: &Account) -> String {
    let shared_buffers = shared_buffers_mb();
    // An ordinary user's shared memory files are removed at logout where
    // systemd-logind has RemoveIPC=yes; files in the data directory are not.
    let shared_memory = if account.is_other() { "posix" } else { "mmap" };
    format!(
        "\
# Written by lotwarden at each start; put settings of your own in 20-site.conf beside this file.
listen_addresses = ''
port = 5432
unix_socket_directories = '{sockets}'
unix_socket_permissions = 0700
password_encryption = scram-sha-256
max_connections = 100
shared_buffers = {shared_buffers}MB
dynamic_shared_memory_type = {shared_memory}

# An acknowledged scan is on the disk.
fsync = on
full_page_writes = on
synchronous_commit = on
# A page is written whole to the log once a checkpoint, so checkpoints come by time, not by volume.
max_wal_size = 4GB
checkpoint_timeout = 15min

# A week of logs; no statement, parameter or row detail, so that no patient's identity reaches them.
logging_collector = on
log_destination = 'stderr'
log_directory = '../log'
log_filename = 'postgresql-%a.log'
log_file_mode = 0600
log_truncate_on_rotation = on
log_rotation_age = 1d
log_rotation_size = 0
log_timezone = 'UTC'
timezone = 'UTC'
log_statement = none
log_min_duration_statement = -1
log_min_error_statement = panic
log_error_verbosity = terse
log_parameter_max_length = 0
log_parameter_max_length_on_error = 0
"
    )
}
