//! What stands on a place's label.

use crate::problem::{ApiError, catalogue};
use lotwarden_documents::{Drawing, Label, Symbol};
use lotwarden_store::stock::Location;

/// A place's label: its id as the 39 decimal digits of its 128 bits in AI 91, which GS1 leaves to
/// each company (GS1 General Specifications 3.9.11), and its name as heading.
pub(super) fn drawing(place: &Location) -> Result<Drawing, ApiError> {
    let label = Label {
        title: place.name.clone(),
        elements: vec![("91".to_owned(), format!("{:039}", place.id.as_u128()))],
    };
    label.draw(Symbol::Gs1DataMatrix).map_err(unprintable)
}

/// A label of our own data that cannot be drawn is a fault of the service.
pub(crate) fn unprintable(error: impl std::error::Error + 'static) -> ApiError {
    tracing::error!(
        error = &error as &dyn std::error::Error,
        "a label was not drawn"
    );
    ApiError::new(&catalogue::INTERNAL)
}
