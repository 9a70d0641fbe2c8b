//! What a text says of one product.

use std::collections::HashSet;

use super::{Bytes, Places};
use crate::notices::{Expiry, Found, Of, Proposal, Range};

/// The most names of products that a paragraph takes over from those before it.
const MOST_INHERITED: usize = 100;
/// The most names of products that a block's proposals repeat; beyond, its lots stand in one.
const MOST_REPEATED: usize = 50_000;

/// A lot, a serial or a range of them.
#[derive(Clone)]
pub(super) struct Item {
    pub what: What,
    pub lots: bool,
    pub serials: bool,
    pub bytes: Bytes,
    pub expiry: Option<(Expiry, Bytes)>,
    /// The label may print more characters behind the code.
    pub continued: bool,
}

#[derive(Clone, PartialEq, Eq, Hash)]
pub(super) enum What {
    Code(String),
    Between {
        from: Option<String>,
        to: Option<String>,
        printed: Option<String>,
    },
    Beginning(String),
}

#[derive(Default)]
pub(super) struct Block {
    pub identifiers: Vec<(String, Bytes)>,
    pub catalogue_numbers: Vec<(String, Bytes)>,
    pub items: Vec<Item>,
    /// An expiry that stands before the lots.
    pub leading: Option<(Expiry, Bytes)>,
    pub all: Option<Bytes>,
    /// The first item that no date has followed.
    pub undated: usize,
    known: HashSet<(What, bool, bool)>,
    products: HashSet<String>,
    /// The first item that was not said to be continued.
    continued: usize,
}

impl Block {
    pub(super) fn names_product(&self) -> bool {
        !(self.identifiers.is_empty() && self.catalogue_numbers.is_empty())
    }

    pub(super) fn names_items(&self) -> bool {
        !self.items.is_empty() || self.all.is_some() || self.leading.is_some()
    }

    pub(super) fn push(&mut self, mut item: Item) {
        if !self
            .known
            .insert((item.what.clone(), item.lots, item.serials))
        {
            return;
        }
        if let Some(leading) = &self.leading {
            item.expiry = Some(leading.clone());
            self.undated = self.items.len() + 1;
        }
        self.items.push(item);
    }

    pub(super) fn identify(&mut self, code: String, bytes: Bytes) {
        if self.products.insert(code.clone()) {
            self.identifiers.push((code, bytes));
        }
    }

    pub(super) fn number(&mut self, code: String, bytes: Bytes) {
        if self.products.insert(code.clone()) {
            self.catalogue_numbers.push((code, bytes));
        }
    }

    /// The codes so far are beginnings of what labels print.
    pub(super) fn continue_codes(&mut self) {
        for item in self.items.iter_mut().skip(self.continued) {
            item.continued = true;
        }
        self.continued = self.items.len();
    }

    /// Takes over the identifiers of another.
    pub(super) fn add_product(&mut self, other: Self) {
        self.identifiers.extend(other.identifiers);
        self.catalogue_numbers.extend(other.catalogue_numbers);
    }

    /// A block of the same product, without items. A list too long to be repeated is left out,
    /// which widens.
    pub(super) fn product(&self) -> Self {
        if self.products.len() > MOST_INHERITED {
            return Self::default();
        }
        Self {
            products: self.products.clone(),
            identifiers: self.identifiers.clone(),
            catalogue_numbers: self.catalogue_numbers.clone(),
            ..Self::default()
        }
    }

    /// One proposal for each run of items that share an expiry.
    pub(super) fn proposals(self, places: &Places) -> Vec<Proposal> {
        let found = |(value, bytes): &(String, Bytes)| Found {
            value: value.clone(),
            span: places.span(bytes),
        };
        let expiry = |expiry: &Option<(Expiry, Bytes)>| {
            expiry.as_ref().map(|(value, bytes)| Found {
                value: *value,
                span: places.span(bytes),
            })
        };
        let product = || Proposal {
            identifiers: self.identifiers.iter().map(found).collect(),
            catalogue_numbers: self.catalogue_numbers.iter().map(found).collect(),
            ..Proposal::default()
        };
        let mut proposals = Vec::new();
        let runs = self.items.chunk_by(|a, b| days(a) == days(b)).count();
        let together = runs * self.products.len() > MOST_REPEATED;
        for run in self.items.chunk_by(|a, b| together || days(a) == days(b)) {
            let mut proposal = product();
            let first = run.first().filter(|_| !together);
            proposal.expiry = first.and_then(|item| expiry(&item.expiry));
            for item in run {
                add(&mut proposal, item, places);
            }
            proposals.push(proposal);
        }
        if self.all.is_some()
            || (proposals.is_empty() && (self.leading.is_some() || self.names_product()))
        {
            let mut proposal = product();
            proposal.all = self.all.as_ref().map(|bytes| places.span(bytes));
            proposal.expiry = expiry(&self.leading);
            proposals.push(proposal);
        }
        proposals
    }
}

fn days(item: &Item) -> Option<Expiry> {
    item.expiry.as_ref().map(|(expiry, _)| *expiry)
}

fn add(proposal: &mut Proposal, item: &Item, places: &Places) {
    let span = places.span(&item.bytes);
    let kinds = [(item.lots, Of::Lot), (item.serials, Of::Serial)];
    for (_, of) in kinds.into_iter().filter(|(named, _)| *named) {
        let mut range = |value| proposal.ranges.push(Found { value, span });
        match &item.what {
            What::Code(code) => {
                if item.continued {
                    range(Range::BeginsWith {
                        of,
                        start: code.clone(),
                    });
                }
                let list = match of {
                    Of::Lot => &mut proposal.lots,
                    Of::Serial => &mut proposal.serials,
                };
                list.push(Found {
                    value: code.clone(),
                    span,
                });
            }
            What::Between { from, to, printed } => range(Range::Between {
                of,
                from: from.clone(),
                to: to.clone(),
                printed: printed.clone(),
            }),
            What::Beginning(start) => range(Range::BeginsWith {
                of,
                start: start.clone(),
            }),
        }
    }
}
