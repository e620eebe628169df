//! Papers are set by a process of their own, `riserward-papers`: it stays, so that only the first paper is slow; it has
//! little memory and little time; what breaks it breaks nothing else, and the next paper starts it anew.
use std::io::{BufRead, BufReader, Read, Write};
use std::path::PathBuf;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use wording::paper::{NotSet, Paper, Typesetter};

/// The process, and how much of the machine it may take.
#[derive(Debug)]
pub struct PaperProcess {
    /// The program.
    program: PathBuf,
    /// The most memory it may take, KiB of address space.
    memory_kib: u64,
    /// The longest one paper may take.
    time: Duration,
    running: Mutex<Option<Running>>,
}

/// 1 GiB of address space; two pages take a tenth of it.
const MEMORY_KIB: u64 = 1024 * 1024;
/// Twenty seconds; two pages take a hundredth of a second, the first a tenth.
const TIME: Duration = Duration::from_secs(20);
/// No PDF is longer.
const LONGEST: u64 = 64 << 20;

#[derive(Debug)]
struct Running {
    child: Child,
    asks: Sender<Vec<u8>>,
    answers: Receiver<Answer>,
}

/// The PDF, or why there is none.
type Answer = Result<Vec<u8>, String>;

impl PaperProcess {
    /// With the usual limits; not started before the first paper.
    pub fn new(program: PathBuf) -> Self {
        Self::limited(program, MEMORY_KIB, TIME)
    }

    /// With limits of one's own.
    pub fn limited(program: PathBuf, memory_kib: u64, time: Duration) -> Self {
        Self {
            program,
            memory_kib,
            time,
            running: Mutex::new(None),
        }
    }

    /// The shell sets the limits, since they can be set from within a process only.
    fn start(&self) -> std::io::Result<Running> {
        let mut child = Command::new("sh")
            .arg("-c")
            .arg("ulimit -v \"$1\" && ulimit -c 0 && exec \"$0\"")
            .arg(&self.program)
            .arg(self.memory_kib.to_string())
            .env_clear()
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        let (asks, voice) = (child.stdin.take(), child.stdout.take());
        let (Some(asks), Some(voice)) = (asks, voice) else {
            return Err(std::io::Error::other("it has no ears or no voice"));
        };
        let (tell, answers) = mpsc::channel();
        std::thread::spawn(move || listen(voice, &tell));
        // Whoever waits for the answer does not wait for the question to be heard: a process that reads nothing would
        // hold him beyond the limit.
        let (ask, asked) = mpsc::channel();
        std::thread::spawn(move || speak(asks, &asked));
        Ok(Running {
            child,
            asks: ask,
            answers,
        })
    }

    /// Asks the process that runs; the outer error: it broke off, or the limit for question and answer is over.
    fn ask(&self, running: &Running, words: &[u8]) -> Result<Answer, RecvTimeoutError> {
        let mut asked = format!("{}\n", words.len()).into_bytes();
        asked.extend_from_slice(words);
        running
            .asks
            .send(asked)
            .map_err(|_gone| RecvTimeoutError::Disconnected)?;
        running.answers.recv_timeout(self.time)
    }
}

impl Running {
    fn end(mut self) {
        // It may have ended by itself; waiting clears it away.
        let _gone = self.child.kill();
        let _cleared = self.child.wait();
    }
}

impl Drop for PaperProcess {
    fn drop(&mut self) {
        let running = self.running.get_mut();
        if let Some(running) = running.unwrap_or_else(PoisonError::into_inner).take() {
            running.end();
        }
    }
}

impl Typesetter for PaperProcess {
    fn is_there(&self) -> bool {
        self.program.is_file()
    }

    fn set(&self, paper: &Paper) -> Result<Vec<u8>, NotSet> {
        if !self.is_there() {
            return Err(NotSet::NotThere);
        }
        let words = serde_json::to_vec(paper).map_err(|error| failed(&error))?;
        let mut kept = self.running.lock().unwrap_or_else(PoisonError::into_inner);
        // One that ran already may have ended since the paper before; then a fresh one is asked, once. One that took too
        // long would take as long again.
        if let Some(running) = kept.take() {
            match self.ask(&running, &words) {
                Err(RecvTimeoutError::Disconnected) => {
                    running.end();
                    tracing::warn!("what sets papers had ended; it is started anew");
                }
                heard => return settle(&mut kept, running, heard),
            }
        }
        let running = self.start().map_err(|error| failed(&error))?;
        let heard = self.ask(&running, &words);
        settle(&mut kept, running, heard)
    }
}

/// Keeps what answered for the next paper, and ends what did not.
fn settle(
    kept: &mut Option<Running>,
    running: Running,
    heard: Result<Answer, RecvTimeoutError>,
) -> Result<Vec<u8>, NotSet> {
    match heard {
        Ok(answer) => {
            *kept = Some(running);
            answer.map_err(|reason| failed(&reason))
        }
        Err(reason) => {
            running.end();
            Err(failed(&reason))
        }
    }
}

fn failed(reason: &dyn std::fmt::Display) -> NotSet {
    tracing::error!(%reason, "a paper could not be set");
    NotSet::Failed
}

/// Says every question to the process until it hears no more or nobody asks.
fn speak(mut ears: ChildStdin, asked: &Receiver<Vec<u8>>) {
    while let Ok(words) = asked.recv() {
        if ears.write_all(&words).and_then(|()| ears.flush()).is_err() {
            return;
        }
    }
}

/// Hands on every answer until the process falls silent or says what cannot be understood.
fn listen(voice: ChildStdout, tell: &Sender<Answer>) {
    let mut voice = BufReader::new(voice);
    while let Some(answer) = answer(&mut voice) {
        if tell.send(answer).is_err() {
            return;
        }
    }
}

fn answer(voice: &mut impl BufRead) -> Option<Answer> {
    let mut line = String::new();
    voice.by_ref().take(64).read_line(&mut line).ok()?;
    let (word, length) = line.trim().split_once(' ')?;
    let length: u64 = length.parse().ok().filter(|length| *length <= LONGEST)?;
    let mut bytes = vec![0; usize::try_from(length).ok()?];
    voice.read_exact(&mut bytes).ok()?;
    match word {
        "pdf" => Some(Ok(bytes)),
        "trouble" => Some(Err(String::from_utf8_lossy(&bytes).into_owned())),
        _ => None,
    }
}
