//! What stands on a place's label.

use crate::problem::{ApiError, catalogue};
use lotwarden_documents::{Drawing, Label, Symbol};
use lotwarden_domain::label::place;
use lotwarden_store::stock::Location;

/// A place's label: the element that names it, and its name as heading.
pub(super) fn drawing(location: &Location) -> Result<Drawing, ApiError> {
    let label = Label {
        title: location.name.clone(),
        elements: vec![place::element(location.id)],
    };
    label.draw(Symbol::Gs1DataMatrix).map_err(unprintable)
}

/// A label or document of our own data that cannot be drawn is a fault of the service.
pub(crate) fn unprintable(error: impl std::error::Error + 'static) -> ApiError {
    tracing::error!(
        error = &error as &dyn std::error::Error,
        "a label or document was not drawn"
    );
    ApiError::new(&catalogue::INTERNAL)
}
