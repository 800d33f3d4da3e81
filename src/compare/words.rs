//! Plain values of the meaning, in words.
//!
//! In: a value of [`crate::model::meaning`]. Out: a few words of the trade.

use serde_json::Value;

/// Any plain value: `none`, `yes`, a text, a list with commas.
pub fn plain(value: &Value) -> String {
    match value {
        Value::Null => "none".into(),
        Value::Bool(true) => "yes".into(),
        Value::Bool(false) => "no".into(),
        Value::String(text) => text.clone(),
        Value::Array(items) if items.is_empty() => "none".into(),
        Value::Array(items) => items.iter().map(plain).collect::<Vec<_>>().join(", "),
        Value::Object(map) => map.iter().map(|(k, v)| format!("{k} {}", plain(v))).collect::<Vec<_>>().join(", "),
        Value::Number(number) => number.to_string(),
    }
}

/// Minutes with their unit.
pub fn minutes(value: &Value) -> String {
    if value.is_null() { "none".into() } else { format!("{} min", plain(value)) }
}

/// Where a result leads.
pub fn way(value: &Value) -> String {
    let Some((word, to)) = value.as_object().and_then(|m| m.iter().next()) else { return "none".into() };
    let to = plain(to);
    match word.as_str() {
        "then" => format!("on to {to}"),
        "jump" => format!("on to procedure {to}"),
        "shows" => format!("shows {to}"),
        "found" => format!("found: {to}"),
        word => word.to_owned(),
    }
}

/// Whether a way is a verdict on a cause.
pub fn is_verdict(way: &Value) -> bool {
    way.get("shows").is_some() || way.get("found").is_some()
}

/// What a result rules out.
pub fn evidence(outcome: &Value) -> String {
    let clears = outcome["clears"].as_array().filter(|c| !c.is_empty());
    let clears = clears.map(|_| format!("rules out {}", plain(&outcome["clears"])));
    let leaves = match &outcome["leaves"] {
        Value::Null => None,
        Value::Array(items) if items.is_empty() => Some("rules everything out".to_owned()),
        some => Some(format!("leaves only {}", plain(some))),
    };
    match (clears, leaves) {
        (None, None) => "rules nothing out".into(),
        (Some(one), None) | (None, Some(one)) => one,
        (Some(a), Some(b)) => format!("{a} and {b}"),
    }
}

/// What a step does.
pub fn kind(step: &Value) -> String {
    let doing = match &step["kind"] {
        Value::Object(map) => match &map["measure"] {
            Value::String(spec) => format!("measures {spec}"),
            inline => {
                let part = |key: &str, word: &str| {
                    inline[key].as_str().map_or_else(String::new, |text| format!(" {word} {text}"))
                };
                format!("measures {}{}{}", plain(&inline["quantity"]), part("at", "at"), part("when", "when"))
            }
        },
        Value::String(word) => match word.as_str() {
            "observe" => "observes".to_owned(),
            "do" => "is an action".to_owned(),
            _ => "routes by vehicle".to_owned(),
        },
        other => plain(other),
    };
    match step["check"].as_str() {
        Some(check) => format!("{doing}, by check {check}"),
        None => doing,
    }
}
