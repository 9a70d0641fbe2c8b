//! Mixes, fills of gas and loads between a lot and a patient.

use lotwarden_store::moment::instant_text;
use lotwarden_store::where_used as store;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A mix that holds a lot.
#[derive(Debug, Serialize, ToSchema)]
pub struct MixThrough {
    /// The mix.
    mix_id: Uuid,
    /// What the team called it.
    name: String,
    /// Its case.
    case_id: Uuid,
    /// The ingredient lot.
    lot_id: Uuid,
}

/// A fill of gas.
#[derive(Debug, Serialize, ToSchema)]
pub struct CylinderThrough {
    /// The fill.
    cylinder_id: Uuid,
    /// Its lot.
    lot_id: Uuid,
    /// Its container.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
}

/// A sterilizer load that a piece went through.
#[derive(Debug, Serialize, ToSchema)]
pub struct LoadThrough {
    /// The load.
    load_id: Uuid,
    /// Its sterilizer and cycle.
    #[schema(example = "Autoclave 1, cycle L104")]
    name: String,
    /// When it started.
    #[schema(format = DateTime)]
    started_at: String,
    /// Why it is held, if it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    held: Option<String>,
    /// The case an immediate-use cycle was run for.
    #[serde(skip_serializing_if = "Option::is_none")]
    case_id: Option<Uuid>,
    /// The piece.
    unit_id: Uuid,
}

impl From<&store::MixThrough> for MixThrough {
    fn from(mix: &store::MixThrough) -> Self {
        Self {
            mix_id: mix.id,
            name: mix.name.clone(),
            case_id: mix.case,
            lot_id: mix.lot,
        }
    }
}

impl From<&store::CylinderThrough> for CylinderThrough {
    fn from(cylinder: &store::CylinderThrough) -> Self {
        Self {
            cylinder_id: cylinder.id,
            lot_id: cylinder.lot,
            unit_id: cylinder.unit,
        }
    }
}

impl From<&store::LoadThrough> for LoadThrough {
    fn from(load: &store::LoadThrough) -> Self {
        Self {
            load_id: load.id,
            name: load.name.clone(),
            started_at: instant_text(load.started_at.to_jiff()),
            held: load.held.clone(),
            case_id: load.case,
            unit_id: load.unit,
        }
    }
}
