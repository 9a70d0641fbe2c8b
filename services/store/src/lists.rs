//! One page of a list, and where the next one starts.

use uuid::Uuid;

/// Where a page starts: after the row with this id, at most so many rows.
#[derive(Clone, Copy, Debug)]
pub struct After {
    /// The last id of the page before; none for the first page.
    pub id: Option<Uuid>,
    /// Rows at most; 1 to 200.
    pub limit: u16,
}

/// Rows of a list in the order of their ids, and the id to go on from when there are more.
#[derive(Clone, Debug)]
pub struct Page<T> {
    /// The rows.
    pub items: Vec<T>,
    /// The last id, when more rows follow.
    pub next: Option<Uuid>,
}

impl<T> Page<T> {
    /// Makes a page of rows fetched one beyond the limit.
    pub(crate) fn of(mut items: Vec<T>, after: After, id: impl Fn(&T) -> Uuid) -> Self {
        let limit = usize::from(after.limit);
        let more = items.len() > limit;
        items.truncate(limit);
        let next = if more { items.last().map(id) } else { None };
        Self { items, next }
    }
}

impl After {
    /// The id to start behind: the nil UUID stands before every version 7 one.
    pub(crate) fn start(self) -> Uuid {
        self.id.unwrap_or(Uuid::nil())
    }

    /// One row more than asked, to learn whether more follow.
    pub(crate) fn fetch(self) -> i64 {
        i64::from(self.limit) + 1
    }
}
