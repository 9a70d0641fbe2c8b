//! Processes killed, databases stopped, disks full: what was acknowledged stays, what was not is
//! recorded once when it is sent again.

mod disk;
mod keys;
mod kill;
mod load;
mod lost;
mod outbox;
mod processes;
mod tls;
