//! The same cases put to the phone's scripts, in the browser engine a phone has. Headless Chromium reads one page with
//! the scripts, the shipped rule book and the cases, and writes the page out again with the answers.
use std::path::Path;
use std::process::Command;
use std::sync::atomic::{AtomicU32, Ordering};

use inspection::RuleBook;
use serde::Deserialize;
use serde_json::Value as Json;

/// The scripts as the program serves them.
const SCRIPTS: [&str; 5] = [
    include_str!("../../../../app/web/assets/rules.js"),
    include_str!("../../../../app/web/assets/days.js"),
    include_str!("../../../../app/web/assets/visit.js"),
    include_str!("../../../../app/web/assets/said.js"),
    include_str!("phone.js"),
];
/// The script of the rule book stays small enough to be read in one sitting.
pub const MOST_LINES: usize = 200;

/// How often this process has asked: tests that ask at the same time have a page and a browser profile each.
static ASKED: AtomicU32 = AtomicU32::new(0);

#[derive(Deserialize)]
struct Answered {
    got: Option<Json>,
    why: Option<String>,
}

/// The phone's answer to each case of family and inputs, in order.
///
/// # Errors
/// No Chromium, a page that did not answer, a script grown too long.
pub fn answers(cases: &[(&str, &Json)]) -> Result<Vec<Result<Json, String>>, String> {
    if let Some(script) = SCRIPTS.iter().find(|s| s.lines().count() > MOST_LINES) {
        let lines = script.lines().count();
        return Err(format!("a script of the phone has {lines} lines"));
    }
    let asked = ASKED.fetch_add(1, Ordering::Relaxed);
    let process = std::process::id();
    let folder = std::env::temp_dir().join(format!("riserward-phone-{process}-{asked}"));
    std::fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    let page = folder.join("cases.html");
    std::fs::write(&page, page_of(cases)?).map_err(|e| e.to_string())?;
    let written = written_out(&folder, &page);
    // Of no use to anybody afterwards; a folder that cannot go is no failure of the cases.
    drop(std::fs::remove_dir_all(&folder));
    let text = written?;
    let (_, rest) = text
        .split_once("answers:")
        .ok_or("the phone's page did not answer")?;
    let (json, _) = rest
        .split_once("</body>")
        .ok_or("the phone's page was cut off")?;
    let answered: Vec<Answered> = serde_json::from_str(json).map_err(|e| e.to_string())?;
    Ok(answered
        .into_iter()
        .map(|a| a.got.ok_or_else(|| a.why.unwrap_or_default()))
        .collect())
}

fn page_of(cases: &[(&str, &Json)]) -> Result<String, String> {
    let cases = serde_json::to_string(cases).map_err(|e| e.to_string())?;
    let data = |id: &str, json: &str| {
        let json = json.replace("</", "<\\/");
        format!("<script id=\"{id}\" type=\"application/json\">{json}</script>\n")
    };
    let mut page = String::from("<!doctype html><meta charset=\"utf-8\"><body>\n");
    page.push_str(&data("rule-book", RuleBook::shipped_text()));
    page.push_str(&data("cases", &cases));
    for script in SCRIPTS {
        page.push_str("<script>");
        page.push_str(script);
        page.push_str("</script>\n");
    }
    Ok(page)
}

fn written_out(folder: &Path, page: &Path) -> Result<String, String> {
    let out = Command::new("chromium")
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--dump-dom"])
        .arg(format!(
            "--user-data-dir={}",
            folder.join("profile").display()
        ))
        .arg(format!("file://{}", page.display()))
        .output()
        .map_err(|e| format!("Chromium does not start ({e}): apt-get install chromium"))?;
    String::from_utf8(out.stdout).map_err(|e| e.to_string())
}
