//! Cases, scans and uses: their states and words.

use crate::word::words;

words! {
    /// The state of a case (HL7 FHIR `Procedure.status`).
    CaseStatus, "case status" {
        /// Opened; items are set up.
        Preparation = "preparation",
        /// The procedure runs.
        InProgress = "in-progress",
        /// The procedure ended.
        Completed = "completed",
        /// The procedure did not take place.
        NotDone = "not-done",
    }
}

impl CaseStatus {
    /// Whether items can still be put on the case.
    #[must_use]
    pub const fn takes_items(self) -> bool {
        match self {
            Self::Preparation | Self::InProgress => true,
            Self::Completed | Self::NotDone => false,
        }
    }

    /// Whether a case may go from this state to the next (21 CFR 11.10(f), permitted sequencing).
    #[must_use]
    pub const fn may_become(self, next: Self) -> bool {
        matches!(
            (self, next),
            (Self::Preparation, Self::InProgress | Self::NotDone)
                | (Self::InProgress, Self::Completed)
        )
    }
}

words! {
    /// What a scan is worth; the worst severity of its findings.
    Verdict, "verdict" {
        /// Recorded, all checks passed.
        Taken = "taken",
        /// Recorded; a person must look.
        Look = "look",
        /// Not usable; recorded as a stopped scan, the item is not on the case.
        Stop = "stop",
        /// The characters are no known form.
        Unread = "unread",
    }
}

words! {
    /// What became of a used item.
    Disposition, "disposition" {
        /// Used on the patient.
        Used = "used",
        /// Wasted, contaminated or dropped.
        Wasted = "wasted",
        /// Opened and not used.
        OpenedUnused = "opened_unused",
        /// Returned to the shelf, pack intact.
        Returned = "returned",
        /// Failed in use.
        Failed = "failed",
    }
}

words! {
    /// What of a case's record an amendment concerns.
    RecordPart, "part of a record" {
        /// The record as a whole.
        Record = "record",
        /// A scan.
        Scan = "scan",
        /// A mix.
        Mix = "mix",
        /// A volume of a mix.
        Dose = "dose",
        /// Gas by flow and time.
        GasUse = "gas_use",
        /// Energy in a zone.
        Energy = "energy",
        /// Equipment that was set up.
        Equipment = "equipment",
        /// A check or count.
        Check = "check",
        /// What was taken out or came back.
        Pick = "pick",
    }
}

words! {
    /// What a hold bars.
    HoldScope, "hold scope" {
        /// Every lot of a product.
        Product = "product",
        /// One lot.
        Lot = "lot",
        /// One serialised piece.
        Unit = "unit",
    }
}

words! {
    /// A pause of the checklist or a count (WHO surgical safety checklist; counts by two people:
    /// common practice, no source).
    CheckKind, "kind of check" {
        /// Before anaesthesia.
        SignIn = "sign_in",
        /// Before the first incision.
        TimeOut = "time_out",
        /// Before the patient leaves.
        SignOut = "sign_out",
        /// What is counted at the start.
        InitialCount = "initial_count",
        /// What is counted at the end.
        ClosingCount = "closing_count",
    }
}

words! {
    /// Which way picked things went.
    PickKind, "kind of pick" {
        /// Taken out for the case.
        Picked = "picked",
        /// Brought back untouched.
        Returned = "returned",
    }
}

words! {
    /// A place where stock is kept or used.
    LocationKind, "location kind" {
        /// A procedure room.
        Room = "room",
        /// A shelf, cabinet or bin.
        Shelf = "shelf",
        /// The receiving dock.
        Dock = "dock",
        /// A place for held items.
        Quarantine = "quarantine",
    }
}

words! {
    /// What becomes of stock that is swept off the shelf.
    SweepOutcome, "sweep outcome" {
        /// It waits at a place for held items.
        Quarantined = "quarantined",
        /// It goes back to its firm.
        SentBack = "sent_back",
        /// It is destroyed before a second person.
        Destroyed = "destroyed",
    }
}

words! {
    /// Why stock changed.
    MovementKind, "movement kind" {
        /// Came in by a receipt.
        Received = "received",
        /// Left the shelf for a case.
        Used = "used",
        /// Came back from a case, or a scan was struck.
        Returned = "returned",
        /// Was sent back to its firm.
        SentBack = "sent_back",
        /// Was destroyed.
        Destroyed = "destroyed",
        /// Left one place for another, or came from one.
        Moved = "moved",
        /// A count found more or less than the record had.
        Adjusted = "adjusted",
    }
}
