//! `suspect.rank`, `suspect.many`, `completion`
use inspection::RuleBook;
use inspection::completion::{Sheet, check_with};
use inspection::suspects::{ManyQuery, RankQuery, many, rank};
use serde_json::Value as Json;

use super::Answer;
use super::inputs::{say, show, whole};

pub fn answer(family: &str, i: &Json) -> Answer {
    let book = RuleBook::shipped().map_err(say)?;
    match family {
        "suspect.rank" => {
            let query: RankQuery = whole(i)?;
            show(&rank(book, &query).map_err(say)?)
        }
        "suspect.many" => {
            let query: ManyQuery = whole(i)?;
            show(&many(&query).map_err(say)?)
        }
        "completion" => {
            let sheet: Sheet = whole(i)?;
            show(&check_with(book, &sheet).map_err(say)?)
        }
        _ => Err(format!("there is no family '{family}'")),
    }
}
