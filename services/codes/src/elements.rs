//! The pieces of a label, in the order printed.

use std::borrow::Cow;

use smallvec::SmallVec;

/// One piece of a label: its data identifier and its value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Element<'a> {
    /// The identifier as the label's standard writes it: `01`, `$$5`, `=/`, `9N`.
    pub key: &'a str,
    /// The value, borrowed from the input unless an escape had to be undone.
    pub value: Cow<'a, str>,
}

/// The pieces of a label in the order printed; up to eight need no allocation.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Elements<'a>(SmallVec<[Element<'a>; 8]>);

impl<'a> Elements<'a> {
    /// Every piece as key and value.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> + '_ {
        self.0.iter().map(|e| (e.key, e.value.as_ref()))
    }

    /// The value of the first piece with this key.
    pub fn get(&self, key: &str) -> Option<&str> {
        self.0
            .iter()
            .find(|e| e.key == key)
            .map(|e| e.value.as_ref())
    }

    /// How many pieces there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether the label has no pieces (a bare number or plain text).
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The pieces themselves.
    pub fn as_slice(&self) -> &[Element<'a>] {
        &self.0
    }

    pub(crate) fn push(&mut self, key: &'a str, value: impl Into<Cow<'a, str>>) {
        self.0.push(Element {
            key,
            value: value.into(),
        });
    }

    /// A value that lives as long as the input where it can.
    pub(crate) fn cloned(&self, key: &str) -> Option<Cow<'a, str>> {
        self.0
            .iter()
            .find(|e| e.key == key)
            .map(|e| e.value.clone())
    }
}

impl<'e, 'a> IntoIterator for &'e Elements<'a> {
    type Item = &'e Element<'a>;
    type IntoIter = std::slice::Iter<'e, Element<'a>>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}
