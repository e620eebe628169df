//! The small language of the rule book: conditions and sums written as JSON lists, so that one file
//! is read alike here and by the script on the phone.
//!
//! A number or `true`/`false` stands for itself, a text is the name of a value, and a list is an
//! operation: `["<", "cold_bar", ["-", "lo", 0.2]]`. Names not given are *unknown*; asking more
//! of an unknown than `known`, `yes`, `no`, `blank` or `else` is refused, never guessed.
mod read;
mod value;

pub use value::{ITEM, Value, Values, round6};

use statrs::function::gamma::gamma;

use crate::InspectionError;

/// An operation of the rule book.
#[derive(Clone, Debug, PartialEq)]
pub enum Expr {
    /// A literal.
    Literal(Value),
    /// The value of that name.
    Name(String),
    /// An operation on other expressions.
    Apply(Op, Vec<Self>),
    /// Whether a text value equals one of these words.
    Is(Box<Self>, Vec<String>),
}

/// The operations; `read` gives their names and how many operands each takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Op {
    /// `+`
    Add,
    /// `-`
    Subtract,
    /// `*`
    Multiply,
    /// `/`
    Divide,
    /// `abs`
    Abs,
    /// `min`
    Min,
    /// `max`
    Max,
    /// `<` after rounding both to 6 decimals
    Less,
    /// `<=`
    LessOrEqual,
    /// `>`
    Greater,
    /// `>=`
    GreaterOrEqual,
    /// `=`
    Equal,
    /// `and`, left to right, stopping at the first false
    And,
    /// `or`, left to right, stopping at the first true
    Or,
    /// `not`
    Not,
    /// `known`: given at all
    Known,
    /// `yes`: exactly true
    Yes,
    /// `no`: exactly false
    No,
    /// `blank`: unknown, or text of nothing but spaces
    Blank,
    /// `else`: the first operand that is known
    Else,
    /// `if`: condition, then, otherwise
    If,
    /// `before`: one ISO date before another
    Before,
    /// `ln`
    Ln,
    /// `pow`
    Power,
    /// `gamma`: Γ
    Gamma,
    /// `sum`: over a list, of an expression in which the item's own names come first
    Sum,
    /// `first`: the first item of a list of numbers for which a condition holds, or unknown
    First,
}

impl Expr {
    /// The value of the expression.
    ///
    /// # Errors
    /// An unknown, or a value of the wrong sort, where a number, a truth or a date is needed; a
    /// result that is not a finite number.
    pub fn value(&self, values: &Values) -> Result<Value, InspectionError> {
        match self {
            Self::Literal(value) => Ok(value.clone()),
            Self::Name(name) => Ok(values.get(name)),
            Self::Is(of, words) => match of.value(values)? {
                Value::Text(text) => Ok(Value::Bool(words.contains(&text))),
                _ => Err(of.missing()),
            },
            Self::Apply(op, operands) => apply(*op, operands, values),
        }
    }

    /// Every name it asks for, in the order it stands.
    pub fn names(&self) -> Vec<&str> {
        match self {
            Self::Literal(_) => Vec::new(),
            Self::Name(name) => vec![name.as_str()],
            Self::Is(of, _) => of.names(),
            Self::Apply(_, operands) => operands.iter().flat_map(Self::names).collect(),
        }
    }

    /// The expression as a number.
    pub fn number(&self, values: &Values) -> Result<f64, InspectionError> {
        match self.value(values)? {
            Value::Number(number) => Ok(number),
            Value::Unknown => Err(self.missing()),
            _ => Err(InspectionError::impossible(
                &self.name(),
                "must be a number",
            )),
        }
    }

    /// The expression as a truth.
    pub fn truth(&self, values: &Values) -> Result<bool, InspectionError> {
        match self.value(values)? {
            Value::Bool(truth) => Ok(truth),
            Value::Unknown => Err(self.missing()),
            _ => Err(InspectionError::impossible(
                &self.name(),
                "must be yes or no",
            )),
        }
    }

    fn text(&self, values: &Values) -> Result<String, InspectionError> {
        match self.value(values)? {
            Value::Text(text) => Ok(text),
            Value::Unknown => Err(self.missing()),
            _ => Err(InspectionError::impossible(&self.name(), "must be a text")),
        }
    }

    fn name(&self) -> String {
        match self {
            Self::Name(name) => name.clone(),
            Self::Is(of, _) => of.name(),
            Self::Literal(_) => "a fixed value".to_owned(),
            Self::Apply(_, operands) => operands
                .first()
                .map_or_else(|| "an empty sum".to_owned(), Self::name),
        }
    }

    fn missing(&self) -> InspectionError {
        InspectionError::Missing(self.name())
    }
}

fn numbers(operands: &[Expr], values: &Values) -> Result<Vec<f64>, InspectionError> {
    operands.iter().map(|o| o.number(values)).collect()
}

/// The first two of `operands` as numbers; `read` has checked how many there are.
fn pair(operands: &[Expr], values: &Values) -> Result<(f64, f64), InspectionError> {
    match numbers(operands, values)?.as_slice() {
        [left, right, ..] => Ok((*left, *right)),
        _ => Err(InspectionError::Missing("a second number".to_owned())),
    }
}

fn first(operands: &[Expr]) -> Result<&Expr, InspectionError> {
    operands
        .first()
        .ok_or_else(|| InspectionError::Missing("an operand".to_owned()))
}

fn apply(op: Op, operands: &[Expr], values: &Values) -> Result<Value, InspectionError> {
    match op {
        Op::Add
        | Op::Subtract
        | Op::Multiply
        | Op::Divide
        | Op::Abs
        | Op::Min
        | Op::Max
        | Op::Ln
        | Op::Power
        | Op::Gamma => arithmetic(op, &numbers(operands, values)?),
        Op::Sum | Op::First => over_a_list(op, operands, values),
        Op::Less | Op::LessOrEqual | Op::Greater | Op::GreaterOrEqual | Op::Equal => {
            let (left, right) = pair(operands, values)?;
            let (left, right) = (round6(left), round6(right));
            Ok(Value::Bool(match op {
                Op::Less => left < right,
                Op::LessOrEqual => left <= right,
                Op::Greater => left > right,
                Op::GreaterOrEqual => left >= right,
                _ => left == right,
            }))
        }
        Op::And | Op::Or => {
            for operand in operands {
                if operand.truth(values)? == (op == Op::Or) {
                    return Ok(Value::Bool(op == Op::Or));
                }
            }
            Ok(Value::Bool(op == Op::And))
        }
        Op::Not => Ok(Value::Bool(!first(operands)?.truth(values)?)),
        Op::Known => Ok(Value::Bool(
            first(operands)?.value(values)? != Value::Unknown,
        )),
        Op::Yes => Ok(Value::Bool(
            first(operands)?.value(values)? == Value::Bool(true),
        )),
        Op::No => Ok(Value::Bool(
            first(operands)?.value(values)? == Value::Bool(false),
        )),
        Op::Blank => Ok(Value::Bool(first(operands)?.value(values)?.is_blank())),
        Op::Else => {
            for operand in operands {
                let value = operand.value(values)?;
                if value != Value::Unknown {
                    return Ok(value);
                }
            }
            Ok(Value::Unknown)
        }
        Op::If => match operands {
            [condition, then, otherwise] => {
                if condition.truth(values)? {
                    then.value(values)
                } else {
                    otherwise.value(values)
                }
            }
            _ => Err(InspectionError::Missing("a branch of an 'if'".to_owned())),
        },
        // ISO dates compare as text.
        Op::Before => match operands {
            [left, right] => Ok(Value::Bool(left.text(values)? < right.text(values)?)),
            _ => Err(InspectionError::Missing("a second date".to_owned())),
        },
    }
}

fn over_a_list(op: Op, operands: &[Expr], values: &Values) -> Result<Value, InspectionError> {
    let [list, each] = operands else {
        return Err(InspectionError::Missing("a list".to_owned()));
    };
    let items = match list.value(values)? {
        Value::List(items) => items,
        Value::Unknown => return Err(list.missing()),
        _ => {
            return Err(InspectionError::impossible(&list.name(), "must be a list"));
        }
    };
    let mut sum = 0.0;
    for item in &items {
        let mut scope = values.clone();
        scope.take_over("", item);
        if op == Op::Sum {
            sum += each.number(&scope)?;
        } else if each.truth(&scope)? {
            return Ok(item.get(ITEM));
        }
    }
    match op {
        Op::Sum => Ok(Value::from(sum)),
        _ => Ok(Value::Unknown),
    }
}

fn arithmetic(op: Op, numbers: &[f64]) -> Result<Value, InspectionError> {
    let all = numbers.iter().copied();
    let result = match op {
        Op::Add => all.sum(),
        Op::Multiply => all.product(),
        Op::Min => all.fold(f64::INFINITY, f64::min),
        Op::Max => all.fold(f64::NEG_INFINITY, f64::max),
        Op::Abs => numbers.first().copied().unwrap_or(f64::NAN).abs(),
        Op::Divide => all.reduce(|a, b| a / b).unwrap_or(f64::NAN),
        Op::Power => all.reduce(f64::powf).unwrap_or(f64::NAN),
        Op::Ln => numbers.first().copied().unwrap_or(f64::NAN).ln(),
        Op::Gamma => gamma(numbers.first().copied().unwrap_or(f64::NAN)),
        _ => all.reduce(|a, b| a - b).unwrap_or(f64::NAN),
    };
    if result.is_finite() {
        Ok(Value::Number(result))
    } else {
        Err(InspectionError::impossible(
            "a sum",
            "has no finite result for these values",
        ))
    }
}
