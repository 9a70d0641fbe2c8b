//! How a notice came, and how far the site is with it.

use crate::word::words;

words! {
    /// How a notice reached the site.
    NoticeSource, "notice source" {
        /// On paper.
        Letter = "letter",
        /// By e-mail.
        Mail = "mail",
        /// By telephone.
        Telephone = "telephone",
        /// From a distributor.
        Distributor = "distributor",
        /// From an authority's public records.
        Feed = "feed",
    }
}

words! {
    /// How far the site is with a notice.
    NoticeState, "notice state" {
        /// Taken in; nobody has confirmed what it names, and it stops nothing yet.
        Unconfirmed = "unconfirmed",
        /// Confirmed: it stops what it names, and there is work to do.
        Open = "open",
        /// The work is done and signed; it goes on stopping what it names.
        Closed = "closed",
        /// Taken back; it stops nothing.
        Withdrawn = "withdrawn",
    }
}

words! {
    /// How a notice ends for its firm.
    NoticeEnd, "notice end" {
        /// The firm took it back, or it was never meant for this site: it stops nothing any more.
        Withdrawn = "withdrawn",
        /// The authority ended it (21 CFR 7.55). What it names stays barred here.
        Terminated = "terminated",
    }
}
