//! The pieces of a label, in the order printed.

use std::borrow::Cow;

use arrayvec::ArrayVec;

/// One piece of a label: its data identifier and its value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Element<'a> {
    /// The identifier as the label's standard writes it: `01`, `$$5`, `=/`, `9N`.
    pub key: Cow<'a, str>,
    /// The value, borrowed from the input unless an escape had to be undone.
    pub value: Cow<'a, str>,
}

/// How many pieces are kept without allocation; a full UDI has six.
const INLINE: usize = 8;

/// The pieces of a label in the order printed; up to eight need no allocation.
#[derive(Clone, Debug)]
pub struct Elements<'a>(Pieces<'a>);

#[expect(
    clippy::large_enum_variant,
    reason = "keeping a label's pieces off the heap is the point"
)]
#[derive(Clone, Debug)]
enum Pieces<'a> {
    Inline(ArrayVec<Element<'a>, INLINE>),
    Heap(Vec<Element<'a>>),
}

impl<'a> Elements<'a> {
    /// Every piece as key and value.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> + '_ {
        self.as_slice()
            .iter()
            .map(|e| (e.key.as_ref(), e.value.as_ref()))
    }

    /// The value of the first piece with this key.
    pub fn get(&self, key: &str) -> Option<&str> {
        self.find(key).map(|e| e.value.as_ref())
    }

    /// How many pieces there are.
    pub fn len(&self) -> usize {
        self.as_slice().len()
    }

    /// Whether the label has no pieces (a bare number or plain text).
    pub fn is_empty(&self) -> bool {
        self.as_slice().is_empty()
    }

    /// The pieces themselves.
    pub fn as_slice(&self) -> &[Element<'a>] {
        match &self.0 {
            Pieces::Inline(pieces) => pieces,
            Pieces::Heap(pieces) => pieces,
        }
    }

    /// The value of the first piece with this key, borrowed from the input where it is.
    pub(crate) fn cloned(&self, key: &str) -> Option<Cow<'a, str>> {
        self.find(key).map(|e| e.value.clone())
    }

    pub(crate) fn push(&mut self, key: &'a str, value: impl Into<Cow<'a, str>>) {
        self.keep(Element {
            key: Cow::Borrowed(key),
            value: value.into(),
        });
    }

    pub(crate) fn append(&mut self, other: Self) {
        for element in other.into_pieces() {
            self.keep(element);
        }
    }

    pub(crate) fn into_owned(self) -> Elements<'static> {
        let owned = |text: Cow<'a, str>| Cow::Owned(text.into_owned());
        let mut elements = Elements::default();
        for element in self.into_pieces() {
            elements.keep(Element {
                key: owned(element.key),
                value: owned(element.value),
            });
        }
        elements
    }

    fn find(&self, key: &str) -> Option<&Element<'a>> {
        self.as_slice().iter().find(|e| e.key == key)
    }

    fn keep(&mut self, element: Element<'a>) {
        match &mut self.0 {
            Pieces::Heap(pieces) => pieces.push(element),
            Pieces::Inline(pieces) => {
                if let Err(full) = pieces.try_push(element) {
                    let mut all: Vec<_> = pieces.drain(..).collect();
                    all.push(full.element());
                    self.0 = Pieces::Heap(all);
                }
            }
        }
    }

    fn into_pieces(self) -> impl Iterator<Item = Element<'a>> {
        let (inline, heap) = match self.0 {
            Pieces::Inline(pieces) => (Some(pieces), None),
            Pieces::Heap(pieces) => (None, Some(pieces)),
        };
        inline
            .into_iter()
            .flatten()
            .chain(heap.into_iter().flatten())
    }
}

impl Default for Elements<'_> {
    fn default() -> Self {
        Self(Pieces::Inline(ArrayVec::new_const()))
    }
}

impl PartialEq for Elements<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.as_slice() == other.as_slice()
    }
}

impl Eq for Elements<'_> {}

impl<'e, 'a> IntoIterator for &'e Elements<'a> {
    type Item = &'e Element<'a>;
    type IntoIter = std::slice::Iter<'e, Element<'a>>;

    fn into_iter(self) -> Self::IntoIter {
        self.as_slice().iter()
    }
}
