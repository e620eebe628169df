//! Fills values into the sentences of the rule book.
use crate::expr::{Value, Values};

/// `template` with each `{name}` or `{name:decimals}` replaced; without decimals, one at most.
pub fn fill(template: &str, values: &Values) -> String {
    let mut text = String::with_capacity(template.len() + 16);
    let mut rest = template;
    while let Some((before, after)) = rest.split_once('{') {
        text.push_str(before);
        let Some((slot, tail)) = after.split_once('}') else {
            text.push('{');
            rest = after;
            continue;
        };
        let (name, decimals) = match slot.split_once(':') {
            Some((name, digits)) => (name, digits.parse().ok()),
            None => (slot, None),
        };
        text.push_str(&show(&values.get(name), decimals));
        rest = tail;
    }
    text.push_str(rest);
    text
}

/// A value for a sentence: up to one decimal unless `decimals` says otherwise, "–" if unknown.
pub fn show(value: &Value, decimals: Option<usize>) -> String {
    match value {
        Value::Number(number) => show_number(*number, decimals),
        Value::Bool(true) => "yes".to_owned(),
        Value::Bool(false) => "no".to_owned(),
        Value::Text(text) => text.clone(),
        Value::List(_) | Value::Unknown => "–".to_owned(),
    }
}

/// A number for a sentence. Without `decimals` two are kept where one would hide the limit
/// (0.05 bar), else one; zeros at the end go, and a minus is written as one.
pub fn show_number(number: f64, decimals: Option<usize>) -> String {
    let places = decimals.unwrap_or(if number != 0.0 && number.abs() < 10.0 {
        2
    } else {
        1
    });
    let mut text = format!("{:.places$}", half_away(number, places));
    if decimals.is_none() && text.contains('.') {
        text = text.trim_end_matches('0').trim_end_matches('.').to_owned();
    }
    if text == "-0" {
        "0".to_owned()
    } else {
        text.replace('-', "−")
    }
}

/// `number`, moved away from zero when it lies exactly half way between two numbers of `places` decimals, as a person
/// rounds; the formatter alone would take the even one.
fn half_away(number: f64, places: usize) -> f64 {
    let scale = 10_f64.powi(i32::try_from(places).unwrap_or(0));
    let scaled = number * scale;
    let exact = number.mul_add(scale, -scaled) == 0.0;
    if exact && scaled.fract().abs() == 0.5 {
        scaled.round() / scale
    } else {
        number
    }
}
