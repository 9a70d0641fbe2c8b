//! Uses in bulk: rows first, indexes after.

use crate::prepared::{GTIN, Prepared};
use anyhow::Context;
use uuid::Uuid;

const USES_A_LOT: u32 = 200;
const USES_A_CASE: u32 = 25;
/// Every fifth use names no piece, so that a question by serial has something it cannot exclude.
const WITHOUT_UNIT: u32 = 5;
/// Uses whose lot was not recorded: they belong to the answer about every lot of the product.
const WITHOUT_LOT: u32 = 20;

/// The time part of the ids (RFC 9562, 5.7) of the first lot, and of the first piece, case and use.
const FIRST_LOT: u64 = 1_600_000_000_000;
const FIRST_USE: u64 = 1_700_000_000_000;

/// What the database holds: all of one product, the hardest case for a question by serial. A use
/// takes any of the lots loaded with it, so that the uses of a lot lie scattered over the table.
pub struct Loaded {
    uses: u32,
    steps: Vec<Step>,
    /// Whose cases they are; none for the one patient that the facility was filled with.
    patients: Vec<Uuid>,
}

/// Uses loaded in one go.
#[derive(Clone, Copy)]
struct Step {
    from: u32,
    to: u32,
}

impl Step {
    /// The lots stand as far along as their uses.
    fn first_lot(self) -> u32 {
        self.from / USES_A_LOT
    }

    fn lots(self) -> u32 {
        (self.to - self.from) / USES_A_LOT
    }
}

/// A UUID version 7 of the n-th row.
fn id(first: u64, number: u32) -> Uuid {
    Uuid::from_u128((u128::from(first + u64::from(number)) << 80) | (0x7000_8000 << 48))
}

/// The same in SQL; `number` is an expression.
fn id_sql(first: u64, number: &str) -> String {
    format!("(lpad(to_hex({first} + {number}), 12, '0') || '70008000000000000000')::uuid")
}

impl Loaded {
    /// Nothing yet, for these patients.
    pub fn of(patients: Vec<Uuid>) -> Self {
        Self {
            uses: 0,
            steps: Vec::new(),
            patients,
        }
    }

    /// A use that names a piece, well away from those of the numbers before and after.
    pub fn scattered(&self, number: u32) -> u32 {
        // Steps of the golden ratio spread evenly (Knuth, The Art of Computer Programming 3, 6.4;
        // from memory).
        let spread = u64::from(number.wrapping_mul(2_654_435_769));
        let at = (spread * u64::from(self.uses)) >> 32;
        let at = u32::try_from(at).unwrap_or_default();
        at - at % WITHOUT_UNIT + 1
    }

    fn lot_of(&self, at: u32) -> u32 {
        let step = self.steps.iter().find(|step| at < step.to);
        step.map_or(0, |step| step.first_lot() + (at - step.from) % step.lots())
    }

    /// The lot of a use.
    pub fn lot(&self, at: u32) -> Uuid {
        id(FIRST_LOT, self.lot_of(at))
    }

    /// Its number.
    pub fn lot_number(&self, at: u32) -> String {
        format!("L{}", self.lot_of(at))
    }

    /// The piece of a use.
    pub fn unit(&self, at: u32) -> Uuid {
        id(FIRST_USE, at)
    }

    /// Its serial.
    pub fn serial(&self, at: u32) -> String {
        format!("{at:010}")
    }

    /// Adds uses up to the number given.
    pub async fn grow(&mut self, prepared: &Prepared, to: u32) -> anyhow::Result<()> {
        let client = &prepared.client;
        let site = prepared.sites.first().context("no facility")?;
        let (facility, person, location) = (site.facility, site.person, site.location);
        let row = client
            .query_one(
                "SELECT product_id, (SELECT patient_id FROM cases LIMIT 1) FROM product_identifiers WHERE code = $1",
                &[&GTIN],
            )
            .await?;
        let (product, patient): (Uuid, Uuid) = (row.get(0), row.get(1));
        let step = Step {
            from: self.uses,
            to,
        };
        let (from, last) = (step.from, to - 1);
        let (first_lot, lots) = (step.first_lot(), step.lots());
        let lot_id = id_sql(FIRST_LOT, &format!("({first_lot} + (n - {from}) % {lots})"));
        let unit_id = id_sql(FIRST_USE, "n");
        let case_id = id_sql(FIRST_USE, "n");
        let case_of_use = id_sql(FIRST_USE, &format!("n / {USES_A_CASE}"));
        let ids: Vec<String> = self.patients.iter().map(|id| format!("'{id}'")).collect();
        let whose = if ids.is_empty() {
            format!("'{patient}'")
        } else {
            // A case's number and its patient's run at different paces.
            format!(
                "(ARRAY[{}]::uuid[])[1 + n * 7 % {}]",
                ids.join(", "),
                ids.len()
            )
        };
        let no_lot = Uuid::from_u128(0x7000_8000 << 48);
        let indexes = client
            .query(
                "SELECT indexname, indexdef FROM pg_indexes WHERE tablename = 'uses' AND indexname <> 'uses_pk'
                 OR indexname = 'units_by_lot'",
                &[],
            )
            .await?;
        let mut statements = vec![
            "SET session_replication_role = replica".to_owned(),
            "ALTER TABLE uses DROP CONSTRAINT uses_pk".to_owned(),
            // Neither loading nor looking up is about the log here.
            "ALTER TABLE uses SET UNLOGGED".to_owned(),
        ];
        statements.extend(
            indexes
                .iter()
                .map(|row| format!("DROP INDEX {}", row.get::<_, String>(0))),
        );
        statements.extend([
            format!(
                "INSERT INTO lots VALUES ('{facility}', '{no_lot}', '{product}', NULL, NULL, NULL, now()) ON CONFLICT DO NOTHING"
            ),
            format!(
                "INSERT INTO lots SELECT '{facility}', {}, '{product}', 'L' || n, '2031-12-31', NULL, now() FROM generate_series({first_lot}, {}) n",
                id_sql(FIRST_LOT, "n"),
                first_lot + lots - 1,
            ),
            format!(
                "INSERT INTO cases SELECT '{facility}', {case_id}, {whose}, 'Procedure', '{location}', '{person}', to_timestamp({FIRST_USE} / 1000 + n * 60), 'completed', now(), now(), 1, now() FROM generate_series({}, {}) n",
                from / USES_A_CASE,
                last / USES_A_CASE,
            ),
            format!(
                "INSERT INTO units SELECT '{facility}', {unit_id}, '{product}', {lot_id}, lpad(n::text, 10, '0'), '{location}' FROM generate_series({from}, {last}) n WHERE n % {WITHOUT_UNIT} <> 0"
            ),
            format!(
                "INSERT INTO uses SELECT '{facility}', {unit_id}, {case_of_use}, '{product}',
                     CASE WHEN n < {WITHOUT_LOT} * {WITHOUT_UNIT} AND n % {WITHOUT_UNIT} = 0 THEN '{no_lot}' ELSE {lot_id} END,
                     CASE WHEN n % {WITHOUT_UNIT} <> 0 THEN {unit_id} END,
                     '{location}', 'used', NULL, to_timestamp({FIRST_USE} / 1000 + n * 3), NULL, 1, n % {WITHOUT_UNIT} <> 0
                 FROM generate_series({from}, {last}) n"
            ),
            "SET maintenance_work_mem = '256MB'".to_owned(),
            "ALTER TABLE uses ADD CONSTRAINT uses_pk PRIMARY KEY (lot_id, scan_id)".to_owned(),
        ]);
        statements.extend(indexes.iter().map(|row| row.get::<_, String>(1)));
        statements.push("VACUUM ANALYZE uses, units, cases, lots".to_owned());
        for statement in &statements {
            let what: String = statement.chars().take(24).collect();
            client
                .batch_execute(statement)
                .await
                .with_context(|| format!("cannot load: {what}"))?;
        }
        client.batch_execute("CHECKPOINT").await?;
        self.uses = to;
        self.steps.push(step);
        Ok(())
    }
}
