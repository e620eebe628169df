//! A file as it arrives in the parts of a form.
use actix_multipart::Multipart;
use actix_web::HttpRequest;
use futures_util::StreamExt;
use usecases::enclosures::MOST_BYTES;

use crate::form::Typed;

/// A little more than the largest file, for the fields beside it.
const MOST_SENT: u64 = (MOST_BYTES as u64) + (1 << 16);
const TOO_LARGE: &str = "The file has more than 20 MB. Send a smaller one.";
const NOT_WHOLE: &str = "The file did not arrive whole. Send it again.";

/// What was sent.
pub(super) struct Sent {
    /// What was typed, with what is wrong.
    pub form: Typed,
    /// The file's name and its bytes; `None` when something is wrong.
    pub file: Option<(String, Vec<u8>)>,
}

/// Reads the parts: the first file with anything in it, and the fields beside it.
pub(super) async fn read(request: &HttpRequest, parts: Multipart) -> Sent {
    let length = request
        .headers()
        .get("content-length")
        .and_then(|v| v.to_str().ok())
        .and_then(|v| v.parse::<u64>().ok());
    let (typed, file, wrong) = match length {
        Some(length) if length <= MOST_SENT => gather(parts).await,
        _ => (Vec::new(), None, Some(TOO_LARGE)),
    };
    let mut form = Typed::from(typed);
    if let Some(sentence) = wrong {
        form.complain("file", sentence);
    } else if file.is_none() {
        form.complain("file", "Choose a photo or a PDF first.");
    }
    Sent {
        file: file.filter(|_| !form.is_wrong()),
        form,
    }
}

type Parts = (
    Vec<(String, String)>,
    Option<(String, Vec<u8>)>,
    Option<&'static str>,
);

async fn gather(mut parts: Multipart) -> Parts {
    let (mut typed, mut file) = (Vec::new(), None);
    while let Some(part) = parts.next().await {
        let Ok(mut part) = part else {
            return (typed, None, Some(NOT_WHOLE));
        };
        let name = part.name().unwrap_or("").to_owned();
        let file_name = part
            .content_disposition()
            .and_then(|d| d.get_filename())
            .map(str::to_owned);
        let is_file = matches!(name.as_str(), "file" | "photo");
        let most = if is_file { MOST_BYTES + 1 } else { 4096 };
        match part.bytes(most).await {
            Ok(Ok(bytes)) if is_file => {
                if file.is_none() && !bytes.is_empty() {
                    file = Some((file_name.unwrap_or_default(), bytes.to_vec()));
                }
            }
            Ok(Ok(bytes)) => typed.push((name, String::from_utf8_lossy(&bytes).into_owned())),
            Ok(Err(_)) => return (typed, None, Some(NOT_WHOLE)),
            Err(_) => return (typed, None, Some(TOO_LARGE)),
        }
    }
    (typed, file, None)
}
