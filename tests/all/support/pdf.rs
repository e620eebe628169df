//! What stands on a printed page, read back from its PDF.
use std::io::Write;
use std::process::{Command, Stdio};

/// The words of a PDF as they stand line by line, then as they were written column by column: `pdftotext` with `-layout`
/// and with `-raw`. Every run of spaces and line ends is one space.
pub fn text_of(pdf: &[u8]) -> String {
    let by_line = read_with(pdf, &["-layout", "-enc", "UTF-8", "-", "-"]);
    let by_column = read_with(pdf, &["-raw", "-enc", "UTF-8", "-", "-"]);
    format!("{by_line}\n{by_column}")
}

/// How many pages `pdfinfo` finds, also where the page objects are packed.
pub fn pages_told(pdf: &[u8]) -> usize {
    let told = run_on(pdf, "pdfinfo", &["-"]);
    let pages = told.lines().find_map(|line| line.strip_prefix("Pages:"));
    let pages = pages.expect("it counts the pages").trim();
    pages.parse().expect("it counts in figures")
}

fn read_with(pdf: &[u8], how: &[&str]) -> String {
    let text = run_on(pdf, "pdftotext", how);
    let plain = text.replace('\u{a0}', " ");
    let words = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    // The narrow space before a percent sign is sometimes read as none.
    // A name may break after its hyphen at the end of a line.
    words.replace(" %", "%").replace("- ", "-")
}

fn run_on(pdf: &[u8], program: &str, how: &[&str]) -> String {
    let mut reader = Command::new(program)
        .args(how)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect(
            "poppler's programs are not here: run `bash tests/run`, which installs poppler-utils",
        );
    let mut into = reader.stdin.take().expect("it reads");
    let pdf = pdf.to_vec();
    let writer = std::thread::spawn(move || into.write_all(&pdf));
    let out = reader.wait_with_output().expect("it ends");
    writer.join().expect("it was written").expect("it was read");
    assert!(out.status.success(), "{program} refuses the page");
    String::from_utf8(out.stdout).expect("UTF-8")
}

/// How many pages a PDF has: its page objects, the node that gathers them apart.
pub fn pages_of(pdf: &[u8]) -> usize {
    let mark = b"/Type /Page";
    pdf.windows(mark.len() + 1)
        .filter(|w| w.starts_with(mark) && w.last() != Some(&b's'))
        .count()
}

/// Every one of these stands on the page.
pub fn holds(text: &str, items: &[&str]) {
    for item in items {
        assert!(text.contains(item), "“{item}” is not on the page:\n{text}");
    }
}
