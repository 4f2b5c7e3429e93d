//! Truth files with no more digits than a reader can use.

use serde_json::Value;

/// Rounds every figure to a whole number of 1 / `steps`, but for what stands under
/// the key `exact`: a map's last row needs every digit.
pub fn round(value: &mut Value, steps: f64, exact: &str) {
    match value {
        Value::Number(n) if n.is_f64() => {
            let v = n.as_f64().expect("is f64");
            *value = serde_json::json!((v * steps).round() / steps);
        }
        Value::Array(items) => items.iter_mut().for_each(|v| round(v, steps, exact)),
        Value::Object(map) => map
            .iter_mut()
            .filter(|(k, _)| *k != exact)
            .for_each(|(_, v)| round(v, steps, exact)),
        _ => {}
    }
}
