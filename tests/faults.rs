//! Processes killed, databases stopped, disks full: what was acknowledged stays.
