//! The computations as objects: the trade's check values, and what is refused.

mod faults;
mod values;

use serde_json::Value;

use super::{Computation, Faults};

fn answer(computation: Computation, asked: &Value) -> Value {
    serde_json::to_value(computation.of(asked).unwrap()).unwrap()
}

fn refusal(computation: Computation, asked: &Value) -> Faults {
    computation.of(asked).err().unwrap()
}

/// The object with one field set.
fn with(object: &Value, name: &str, value: Value) -> Value {
    let mut object = object.clone();
    object[name] = value;
    object
}

/// The object without one field.
fn without(object: &Value, name: &str) -> Value {
    let mut object = object.clone();
    object.as_object_mut().unwrap().remove(name);
    object
}

fn cylinder() -> Value {
    serde_json::json!({
        "water_volume_litre": 4.7, "gauge_psi": 500, "celsius": 21.1, "reserve_psi": 0,
        "flow_litre_per_minute": 2, "gauge_accuracy_percent": 2, "gauge_full_scale_psi": 3000,
    })
}

fn bag() -> Value {
    serde_json::json!({
        "weight_kg": 60,
        "given_ml": 180,
        "ingredients": [
            { "name": "sodium chloride 0.9 %", "volume_ml": 250, "diluent": true },
            { "name": "lidocaine 1 %", "volume_ml": 25, "substance": "lidocaine", "percent": 1 },
            { "name": "epinephrine 1 mg/mL", "volume_ml": "0.25", "substance": "epinephrine", "ratio": "1:1,000" },
            { "name": "sodium bicarbonate 8.4 %", "volume_ml": 2.5, "substance": "sodium bicarbonate", "meq_per_ml": 1 },
        ],
    })
}
