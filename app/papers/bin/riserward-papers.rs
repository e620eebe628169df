//! `riserward-papers`: sets papers for the server, which keeps one of these running. It reads nothing but its input.
//!
//! A request is a line with the number of bytes and then so many bytes of JSON (`wording::paper::Paper`); the answer a
//! line `pdf N` or `trouble N` and then N bytes. With `--once` the whole input is one paper and the output its PDF.
use std::io::{BufRead, Read, Write};
use std::process::ExitCode;

use papers::Papers;

/// A paper is thousands of small pieces, made and let go.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// No paper is longer; a larger number is not a request of ours.
const LONGEST: u64 = 16 << 20;

fn main() -> ExitCode {
    let once = std::env::args().nth(1).is_some_and(|word| word == "--once");
    let done = if once { one() } else { serve() };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(trouble) => {
            eprintln!("riserward-papers: {trouble}");
            ExitCode::FAILURE
        }
    }
}

type Done = Result<(), Box<dyn std::error::Error>>;

fn one() -> Done {
    let paper = serde_json::from_reader(std::io::stdin().lock())?;
    let pdf = Papers::new()?.set(&paper)?;
    Ok(std::io::stdout().lock().write_all(&pdf)?)
}

fn serve() -> Done {
    let mut papers = Papers::new()?;
    let (mut asked, mut said) = (std::io::stdin().lock(), std::io::stdout().lock());
    let mut line = String::new();
    loop {
        line.clear();
        if asked.by_ref().take(32).read_line(&mut line)? == 0 {
            return Ok(());
        }
        let length: u64 = line.trim().parse()?;
        if length > LONGEST {
            return Err(format!("{length} bytes are asked to be read as one paper").into());
        }
        let mut bytes = vec![0; usize::try_from(length)?];
        asked.read_exact(&mut bytes)?;
        let (word, answer) = match set(&mut papers, &bytes) {
            Ok(pdf) => ("pdf", pdf),
            Err(trouble) => ("trouble", trouble.into_bytes()),
        };
        writeln!(said, "{word} {}", answer.len())?;
        said.write_all(&answer)?;
        said.flush()?;
    }
}

fn set(papers: &mut Papers, bytes: &[u8]) -> Result<Vec<u8>, String> {
    let paper = serde_json::from_slice(bytes).map_err(|error| error.to_string())?;
    papers.set(&paper).map_err(|trouble| trouble.to_string())
}
