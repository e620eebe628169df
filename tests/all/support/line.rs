//! The line between a browser and the program, which a test can cut: a plant room in a basement has no signal.
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;

/// Passes everything on to the program while there is signal.
pub struct Line {
    /// Where the browser finds the program through this line.
    pub address: String,
    signal: Arc<AtomicBool>,
    calls: Arc<Mutex<Vec<TcpStream>>>,
}

impl Line {
    /// A line to the program at an address such as "http://127.0.0.1:7141".
    pub fn to(program: &str) -> Self {
        let program = program.trim_start_matches("http://").to_owned();
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = format!("http://{}", listener.local_addr().unwrap());
        let line = Self {
            address,
            signal: Arc::new(AtomicBool::new(true)),
            calls: Arc::default(),
        };
        let (signal, calls) = (Arc::clone(&line.signal), Arc::clone(&line.calls));
        thread::spawn(move || {
            for call in listener.incoming().flatten() {
                // Without signal whoever calls is hung up on at once.
                if !signal.load(Ordering::SeqCst) {
                    continue;
                }
                let Ok(other) = TcpStream::connect(&program) else {
                    continue;
                };
                {
                    let mut calls = calls.lock().unwrap();
                    calls.push(call.try_clone().unwrap());
                    calls.push(other.try_clone().unwrap());
                }
                pass_on(call.try_clone().unwrap(), other.try_clone().unwrap());
                pass_on(other, call);
            }
        });
        line
    }

    /// No signal from now on; what is under way is cut off too.
    pub fn cut(&self) {
        self.signal.store(false, Ordering::SeqCst);
        for call in self.calls.lock().unwrap().drain(..) {
            // One that has ended by itself cannot be ended again.
            let _ended = call.shutdown(Shutdown::Both);
        }
    }

    /// There is signal again.
    pub fn mend(&self) {
        self.signal.store(true, Ordering::SeqCst);
    }
}

/// Passes bytes from one to the other until either hangs up.
fn pass_on(mut from: TcpStream, mut to: TcpStream) {
    thread::spawn(move || {
        let _bytes = std::io::copy(&mut from, &mut to);
        let _ended = (from.shutdown(Shutdown::Read), to.shutdown(Shutdown::Write));
    });
}
