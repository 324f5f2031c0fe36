//! The files inside a PDF somebody sends: the record a certificate carries, if it carries one.
//! The PDF may be damaged or made to harm; nothing in it is believed here.

use hayro_syntax::Pdf;
use hayro_syntax::object::{Dict, Object, Stream, String as Text};

/// The largest attachment looked at, in bytes; a record has some thousands.
const LARGEST: usize = 1024 * 1024;
/// Objects of a PDF looked through.
const MOST_OBJECTS: usize = 20_000;
/// The name of the record inside a certificate.
pub const RECORD: &str = "certificate.json";

/// The record attached to a PDF, byte for byte; nothing where the file is no PDF that can be read
/// or carries none.
pub fn record(pdf: Vec<u8>) -> Option<Vec<u8>> {
    // The reader is made for broken files, and a fault in it must not end the program.
    std::panic::catch_unwind(move || {
        let pdf = Pdf::new(pdf).ok()?;
        pdf.objects()
            .into_iter()
            .take(MOST_OBJECTS)
            .find_map(|object| named(object, RECORD))
    })
    .ok()
    .flatten()
}

fn named(object: Object<'_>, name: &str) -> Option<Vec<u8>> {
    let Object::Dict(specification) = object else {
        return None;
    };
    let files: Dict<'_> = specification.get("EF")?;
    let title: Text<'_> = specification.get("UF").or_else(|| specification.get("F"))?;
    if spelled(title.as_bytes()) != name {
        return None;
    }
    let file: Stream<'_> = files.get("F").or_else(|| files.get("UF"))?;
    let bytes = file.decoded().ok()?;
    (bytes.len() <= LARGEST).then(|| bytes.into_owned())
}

/// A text of a PDF: UTF-16 with its mark, or bytes as they are.
fn spelled(bytes: &[u8]) -> String {
    match bytes {
        [0xfe, 0xff, rest @ ..] => {
            let units: Vec<u16> = rest
                .chunks_exact(2)
                .map(|pair| u16::from_be_bytes([pair[0], pair[1]]))
                .collect();
            String::from_utf16_lossy(&units)
        }
        plain => String::from_utf8_lossy(plain).into_owned(),
    }
}
