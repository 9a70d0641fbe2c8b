//! Reading the facts a batch needs and the writer does not have, in a few set queries.
//!
//! Each look-up stands behind `OFFSET 0`, so that it goes by its key in the order written, whatever
//! the tables' statistics said when the statement was planned.

mod cases;
mod codes;
mod lots;
mod units;

use super::World;
use crate::access::{change_policy, stations};
use crate::facilities::Facility;
use crate::recorder::job::{BoxedScan, Failure};
use diesel_async::AsyncPgConnection;
use jiff::Timestamp;
use lotwarden_domain::label::{Circumstances, Label, UnreadLabel};
use uuid::Uuid;

/// What the labels say, each read on the day of its scan at the facility, with what its station
/// sends for the separator.
pub(crate) async fn read_labels(
    connection: &mut AsyncPgConnection,
    facility: &Facility,
    world: &mut World,
    jobs: &[BoxedScan],
    at: Timestamp,
) -> Result<Vec<Result<Label, UnreadLabel>>, Failure> {
    let mut asked = jobs.iter().filter_map(|job| job.waiting.request.station);
    if asked.any(|station| !world.stations.contains_key(&station)) {
        world.stations = stations::all_separators(connection).await?;
    }
    let read = |job: &BoxedScan| {
        let station = job.waiting.request.station;
        let known = station.and_then(|station| world.stations.get(&station));
        job.scan.read(Circumstances {
            today: facility.day(job.scan.occurred_at.unwrap_or(at)),
            separators: known.cloned().unwrap_or_default(),
        })
    };
    Ok(jobs.iter().map(read).collect())
}

/// Reads what the jobs need and the world lacks.
pub(crate) async fn load(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    world: &mut World,
    jobs: &[BoxedScan],
    labels: &[Result<Label, UnreadLabel>],
) -> Result<(), Failure> {
    if world.policy.is_none() {
        world.policy = Some(change_policy::current(connection).await?.settings);
    }
    cases::load(connection, world, jobs).await?;
    let labels: Vec<&Label> = labels.iter().flatten().collect();
    codes::load(connection, facility, world, &labels).await?;
    units::load(connection, world, &labels).await?;
    lots::load(connection, world, &labels).await
}

impl World {
    /// The product a label names, when the catalogue has it.
    pub(crate) fn product_of(&self, label: &Label) -> Option<Uuid> {
        self.named(label).map(|(product, _)| product)
    }

    /// The serial of a label that names one piece: that of a package with several units of use in
    /// it names none of them.
    pub(crate) fn serial<'a>(&self, label: &'a Label) -> Option<&'a String> {
        let package = self.named(label).is_some_and(|(_, package)| package);
        label.serial.as_ref().filter(|_| !package)
    }

    fn named(&self, label: &Label) -> Option<(Uuid, bool)> {
        label.codes().find_map(|code| *self.codes.get(code)?)
    }
}
