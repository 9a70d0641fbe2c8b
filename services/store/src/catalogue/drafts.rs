//! Products while an operation adds and changes them: read in one query, written in a few.

mod load;
mod write;

pub(super) use write::insert_identifiers;

use super::ProductDescription;
use lotwarden_domain::catalogue::{NewIdentifier, PackagingLevel};
use lotwarden_domain::label::ProductCode;
use std::collections::HashMap;
use uuid::Uuid;

/// Products by the codes an operation speaks of.
#[derive(Default)]
pub(super) struct Drafts {
    owners: HashMap<ProductCode, Owned>,
    products: HashMap<Uuid, Draft>,
    /// The products that are new or different, in the order they became so.
    touched: Vec<Uuid>,
}

struct Owned {
    product: Uuid,
    level: PackagingLevel,
    quantity: u32,
}

struct Draft {
    /// As it stood before the operation; none for a new product.
    before: Option<Before>,
    now: ProductDescription,
    catalogued: bool,
    identifiers: Vec<NewIdentifier>,
    /// Another level and quantity of identifiers it had, with the old quantity.
    repackaged: Vec<(NewIdentifier, u32)>,
    touched: bool,
}

struct Before {
    description: ProductDescription,
    catalogued: bool,
    version: i32,
}

/// What putting a description in came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Effect {
    Added,
    Changed,
    Unchanged,
}

/// Whom a description may be put onto.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Onto {
    /// Only a product that nobody has described yet.
    Undescribed,
    /// Whatever product has the identifiers.
    Any,
}

/// An identifier belongs to another product.
#[derive(Debug)]
pub(super) struct Taken(pub(super) ProductCode);

impl Drafts {
    /// The description of the one product that has any of the identifiers.
    pub(super) fn found(&self, identifiers: &[NewIdentifier]) -> Option<&ProductDescription> {
        let owned = identifiers.iter().find_map(|i| self.owners.get(&i.code))?;
        self.products.get(&owned.product).map(|draft| &draft.now)
    }

    /// Puts a description onto the product that has any of the identifiers, or makes a product
    /// with the id `new`.
    pub(super) fn put(
        &mut self,
        new: Uuid,
        description: ProductDescription,
        identifiers: &[NewIdentifier],
        onto: Onto,
    ) -> Result<(Uuid, Effect), Taken> {
        let mut owner = None;
        for identifier in identifiers {
            let Some(owned) = self.owners.get(&identifier.code) else {
                continue;
            };
            let described = self
                .products
                .get(&owned.product)
                .is_some_and(|draft| draft.catalogued);
            let other = owner.is_some_and(|owner| owner != owned.product);
            if other || described && onto == Onto::Undescribed {
                return Err(Taken(identifier.code.clone()));
            }
            owner = Some(owned.product);
        }
        let id = owner.unwrap_or(new);
        let draft = self.products.entry(id).or_insert_with(|| Draft {
            before: None,
            now: description.clone(),
            catalogued: true,
            identifiers: Vec::new(),
            repackaged: Vec::new(),
            touched: false,
        });
        let mut differs = draft.now != description || !draft.catalogued;
        draft.now = description;
        draft.catalogued = true;
        for identifier in identifiers {
            let known = self.owners.get_mut(&identifier.code);
            differs |= draft.identify(id, identifier, known);
            self.owners
                .entry(identifier.code.clone())
                .or_insert_with(|| Owned {
                    product: id,
                    level: identifier.level,
                    quantity: identifier.quantity,
                });
        }
        if (differs || owner.is_none()) && !draft.touched {
            draft.touched = true;
            self.touched.push(id);
        }
        let effect = match (owner, differs) {
            (None, _) => Effect::Added,
            (Some(_), true) => Effect::Changed,
            (Some(_), false) => Effect::Unchanged,
        };
        Ok((id, effect))
    }
}

impl Draft {
    /// Whether it is not what it was before the operation.
    fn differs(&self) -> bool {
        let described = self.before.as_ref().is_some_and(|before| {
            before.catalogued == self.catalogued && before.description == self.now
        });
        !(described && self.identifiers.is_empty() && self.repackaged.is_empty())
    }

    /// Gives the product an identifier, or another packaging to one it has; whether that changes
    /// anything.
    fn identify(&mut self, id: Uuid, new: &NewIdentifier, known: Option<&mut Owned>) -> bool {
        let Some(known) = known.filter(|owned| owned.product == id) else {
            self.identifiers.push(new.clone());
            return true;
        };
        if (known.level, known.quantity) == (new.level, new.quantity) {
            return false;
        }
        let old = std::mem::replace(&mut known.quantity, new.quantity);
        known.level = new.level;
        // One that this operation added itself is not changed but added otherwise.
        if let Some(added) = self.identifiers.iter_mut().find(|i| i.code == new.code) {
            *added = new.clone();
        } else if let Some((again, _)) =
            self.repackaged.iter_mut().find(|(i, _)| i.code == new.code)
        {
            *again = new.clone();
        } else {
            self.repackaged.push((new.clone(), old));
        }
        true
    }
}
