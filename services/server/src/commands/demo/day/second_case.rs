//! The second case: a used handpiece is refused, and the hold is lifted by who may.

use reqwest::Method;
use serde_json::json;

use super::Day;
use super::client::Session;
use super::receiving::Stock;

impl Day {
    /// Plays the second case.
    pub(super) fn second_case(&mut self, stock: &Stock) -> anyhow::Result<()> {
        self.report.heading("Second case")?;
        let case = self.open_case("10:40", 2, "Cooled vein closure, right leg")?;
        let one = &case;
        let used = ("the first case's handpiece", stock.handpieces[0].as_str());
        self.scan("10:50", one, used, "stop (already_used)")?;
        self.scan(
            "10:51",
            one,
            ("a new handpiece", &stock.handpieces[1]),
            "taken",
        )?;
        self.scan("10:52", one, ("a cannula", &stock.cannula), "taken")?;
        self.scan(
            "10:53",
            one,
            ("the gas cylinder", &stock.cylinders[1]),
            "taken",
        )?;
        let circulator = self.people.circulator.clone();
        let (hold, version) = &stock.hold;
        let (hold, version) = (hold.as_str(), *version);
        self.lift("10:54", &circulator, (hold, version), "refused (forbidden)")?;
        let materials = self.people.materials.clone();
        self.lift("11:00", &materials, (hold, version), "done")?;
        let released = ("a pad of the released lot", stock.held_pad.as_str());
        self.scan("11:05", one, released, "taken")?;
        self.turn("11:15", one, "start")?;
        self.turn("12:20", one, "complete")
    }

    fn lift(
        &mut self,
        at: &str,
        who: &Session,
        (hold, version): (&str, i64),
        expected: &str,
    ) -> anyhow::Result<()> {
        let reason = "The maker wrote back: this lot is tested and tight";
        let path = format!("/v1/holds/{hold}/lift");
        let body = json!({"reason": reason});
        let target = (Method::POST, path.as_str());
        let reply = self.client.change(who, target, version, Some(&body))?;
        let does = if expected == "done" {
            "lifts"
        } else {
            "tries to lift"
        };
        let what = format!("{does} the hold: {reason}");
        self.told(
            (at, who),
            &what,
            expected,
            (&reply.word(), &reply.sentence()),
        )
    }
}
