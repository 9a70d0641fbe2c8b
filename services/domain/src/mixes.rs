//! Mixes in exact decimals: concentrations, amounts, volumes, products, days and published values.

mod concentration;
mod days;
mod mixture;
mod products;
mod references;
mod volumes;

pub use concentration::{Strength, StrengthError};
pub use days::{
    MULTI_DOSE_DAYS, VialDays, last_day_of_label, last_day_of_vial, start_within, use_by,
};
pub use mixture::{Amount, Ingredient, Mixture, amounts_of};
pub use products::{ProductCount, STERILE_PRODUCT_LIMIT, sterile_products};
pub use references::{LIDOCAINE, Reference, references_for};
pub use volumes::{VOLUME_TOLERANCE_ML, VolumeBalance};
