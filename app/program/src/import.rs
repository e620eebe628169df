//! `import`: a spreadsheet's rows looked at, or brought in, and told in words or as JSON.
use std::fs::File;
use std::io::{BufReader, BufWriter, Write};
use std::path::Path;

use jobs::ListReader;
use usecases::import::{self, ListKind, Preview, Told, Wish};

use crate::commands::{Import, Rows};
use crate::trouble::Trouble;
use crate::wiring::{self, World};

/// Problems shown in words; the rest is counted. `--json` holds them all.
const SHOWN: usize = 40;

/// Looks at `content`, or brings it in. Rows with something wrong hold the whole file back, and that is a failure.
pub fn run(
    world: &World,
    wish: &Import,
    (content, reader): (&[u8], Option<&ListReader>),
) -> Result<(), Trouble> {
    let mapping = wish.mapping.as_deref().map(mapping).transpose()?;
    let seat = wiring::seat(world, wish.estate.as_deref())?;
    let name = wish.named.clone().unwrap_or_else(|| {
        wish.file
            .file_name()
            .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
    });
    let asked = Wish {
        name: &name,
        kind: wish.rows.map(|rows| match rows {
            Rows::Units => ListKind::Units,
            Rows::History => ListKind::History,
            Rows::Records => ListKind::Records,
        }),
        building: wish.building.as_deref(),
        mapping: mapping.as_deref(),
        bring_in: !wish.preview,
        sheet: wish.sheet.as_deref().unwrap_or(""),
        source: wish.source.as_deref().unwrap_or(""),
    };
    let outcome = match reader.map(|reader| reader.read(content)) {
        Some(Ok(sheets)) => import::command_read(world, &seat, (content, sheets), asked),
        Some(Err(sentence)) => Err(usecases::Error::field("file", sentence)),
        None => import::command(world, &seat, content, asked),
    };
    let (preview, came_in) = outcome.map_err(|error| wiring::sentence(&error, wish.json))?;
    if wish.json {
        println!("{}", as_json(&preview, came_in)?);
    } else {
        print!("{}", in_words(&preview, came_in, wish.preview));
    }
    Ok(())
}

/// Reads a list and says its rows, one JSON value a line; a list that cannot be taken is said too.
pub fn say_rows(file: &Path, to: &mut dyn Write) -> Result<(), Trouble> {
    let opened = File::open(file).map_err(|error| Trouble::at(file, "read", &error))?;
    let mut to = BufWriter::new(to);
    let mut say = |told: Told| -> Result<(), String> {
        serde_json::to_writer(&mut to, &told)
            .map_err(|e| e.to_string())
            .and_then(|()| to.write_all(b"\n").map_err(|e| e.to_string()))
    };
    if let Err(sentence) = import::tell(BufReader::new(opened), &mut say) {
        say(Told::Refused(sentence)).map_err(Trouble::new)?;
    }
    to.flush()
        .map_err(|error| Trouble::at(file, "read", &error))
}

/// A JSON file, or the JSON itself.
fn mapping(said: &str) -> Result<String, Trouble> {
    if said.trim_start().starts_with('{') {
        return Ok(said.to_owned());
    }
    std::fs::read_to_string(said).map_err(|error| Trouble::at(Path::new(said), "read", &error))
}

fn as_json(preview: &Preview, came_in: bool) -> Result<String, Trouble> {
    let mut answer = serde_json::to_value(preview).map_err(|error| {
        Trouble::new(format!(
            "The preview could not be written as JSON: {error}."
        ))
    })?;
    answer["brought_in"] = came_in.into();
    Ok(answer.to_string())
}

fn in_words(preview: &Preview, came_in: bool, only_looked: bool) -> String {
    let counts = &preview.counts;
    let mut lines = vec![format!(
        "{}: {} rows; {} new, {} changed, {} the same, {} held back, {} left out.",
        preview.file,
        preview.rows,
        counts.new,
        counts.changed,
        counts.same,
        counts.held,
        counts.left_out
    )];
    lines.extend(preview.findings.iter().map(|finding| {
        let code = finding.code.code();
        format!(
            "  sheet {}, row {}, {}: {} ({code}, {} rows) {}",
            finding.sheet,
            finding.row,
            finding.column,
            finding.value,
            finding.rows,
            finding.sentence
        )
    }));
    lines.extend(preview.problems.iter().take(SHOWN).map(|problem| {
        let code = problem.code.code();
        let sheet = match problem.sheet.as_str() {
            "" => String::new(),
            name => format!("sheet {name}, "),
        };
        format!(
            "  {sheet}row {}, {}: {} ({code}) {}",
            problem.row, problem.column, problem.value, problem.sentence
        )
    }));
    if preview.problems.len() > SHOWN {
        lines.push(format!(
            "  and {} more; --json holds them all.",
            preview.problems.len() - SHOWN
        ));
    }
    let ending = match (came_in, only_looked, preview.ready) {
        (true, _, _) => "Brought in.",
        (false, true, true) => {
            "Nothing was changed: this was a look. Without --preview it comes in."
        }
        (false, true, false) => {
            "Nothing was changed: this was a look. What is listed above must be settled first."
        }
        (false, false, _) => "Nothing was changed: there is nothing new in it.",
    };
    lines.push(ending.to_owned());
    lines.join("\n") + "\n"
}
