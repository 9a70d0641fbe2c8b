//! The number of sterile products in a preparation.

use std::collections::BTreeSet;

/// Immediate use takes not more than three different sterile products (USP <797> section 1.3,
/// from memory; the site's policy decides).
pub const STERILE_PRODUCT_LIMIT: usize = 3;

/// How many different products there are, beside the limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ProductCount {
    /// Different products; two containers of one product count once.
    pub count: usize,
    /// The site's limit.
    pub limit: usize,
}

impl ProductCount {
    /// Whether there are more than the limit.
    #[must_use]
    pub const fn outside(self) -> bool {
        self.count > self.limit
    }
}

/// Counts different products by their name or identifier.
#[must_use]
pub fn sterile_products<'a>(
    products: impl IntoIterator<Item = &'a str>,
    limit: usize,
) -> ProductCount {
    let different: BTreeSet<_> = products.into_iter().collect();
    ProductCount {
        count: different.len(),
        limit,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // USP <797> section 1.3, from memory: products are counted, not containers.
    #[test]
    fn four_products_are_outside_and_three_inside() {
        let count =
            |products: &[&str]| sterile_products(products.iter().copied(), STERILE_PRODUCT_LIMIT);
        let four = count(&["saline", "lidocaine", "epinephrine", "bicarbonate"]);
        assert_eq!((four.count, four.outside()), (4, true));
        let three = count(&["saline", "lidocaine with epinephrine", "bicarbonate"]);
        assert_eq!((three.count, three.outside()), (3, false));
        assert_eq!(count(&["saline", "lidocaine", "lidocaine"]).count, 2);
    }
}
