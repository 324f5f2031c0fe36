//! The files inside a PDF somebody sends: the record a certificate carries, if it carries one.
//! The PDF may be damaged or made to harm; nothing in it is believed here.

use std::io::Read;

use flate2::read::ZlibDecoder;

use super::certificate::CertificateRecord;

/// The largest attachment looked at, in bytes; a record has some thousands.
const LARGEST: usize = 1024 * 1024;
/// Attached files unpacked; a certificate has two. Together with [`LARGEST`] this is the most that
/// comes out of a file, whatever it says of itself.
const MOST_FILES: usize = 16;
/// Streams looked at; a certificate has some hundred.
const MOST_STREAMS: usize = 5_000;
/// The longest dictionary of a stream looked back over, in bytes.
const LONGEST_DICTIONARY: usize = 2_048;

/// The name of the record inside a certificate.
pub const RECORD: &str = "certificate.json";

/// The record attached to a PDF, byte for byte; nothing where the file carries none that can be read.
///
/// Only what our own papers write is understood: a stream of type `EmbeddedFile` (ISO 32000-1,
/// 7.11.4), as it is or packed once with Flate. Everything else of a PDF could unpack to any size,
/// and is not unpacked to look for a record that was never put there.
pub fn record(pdf: &[u8]) -> Option<Vec<u8>> {
    streams(pdf)
        .filter(|(dictionary, _)| holds(dictionary, b"/EmbeddedFile"))
        .take(MOST_FILES)
        .find_map(|(dictionary, data)| {
            let bytes = content(dictionary, data)?;
            serde_json::from_slice::<CertificateRecord>(&bytes)
                .is_ok()
                .then_some(bytes)
        })
}

/// Every stream with its dictionary, and what follows its beginning.
fn streams(pdf: &[u8]) -> impl Iterator<Item = (&[u8], &[u8])> {
    let mut from = 0;
    std::iter::from_fn(move || {
        loop {
            let at = from + find(pdf.get(from..)?, b"stream")?;
            from = at + b"stream".len();
            let before = pdf.get(at.saturating_sub(LONGEST_DICTIONARY)..at)?;
            if before.trim_ascii_end().ends_with(b">>") {
                let begins = rfind(before, b"obj").unwrap_or(0);
                return Some((&before[begins..], pdf.get(from..)?));
            }
        }
    })
    .take(MOST_STREAMS)
}

/// What a stream holds, if it is plain or packed once, and not too large.
fn content(dictionary: &[u8], data: &[u8]) -> Option<Vec<u8>> {
    // After the word comes the end of its line: CR LF or LF alone.
    let data = data.strip_prefix(b"\r").unwrap_or(data);
    let data = data.strip_prefix(b"\n")?;
    if holds(dictionary, b"/DecodeParms") || holds(dictionary, b"/DP") {
        return None;
    }
    match filters(dictionary)? {
        Filter::None => {
            let end = find(data, b"endstream")?;
            let plain = data.get(..end)?;
            let plain = plain.strip_suffix(b"\n").unwrap_or(plain);
            let plain = plain.strip_suffix(b"\r").unwrap_or(plain);
            (plain.len() <= LARGEST).then(|| plain.to_vec())
        }
        Filter::Flate => {
            let mut bytes = Vec::new();
            let most = u64::try_from(LARGEST).ok()?.saturating_add(1);
            ZlibDecoder::new(data)
                .take(most)
                .read_to_end(&mut bytes)
                .ok()?;
            (bytes.len() <= LARGEST).then_some(bytes)
        }
    }
}

enum Filter {
    None,
    Flate,
}

/// How a stream is packed; nothing where it is not in one of the two ways.
fn filters(dictionary: &[u8]) -> Option<Filter> {
    let Some(at) = find(dictionary, b"/Filter") else {
        return Some(Filter::None);
    };
    let named = dictionary.get(at + b"/Filter".len()..)?.trim_ascii_start();
    let (named, list) = match named.strip_prefix(b"[") {
        Some(inside) => (inside.trim_ascii_start(), true),
        None => (named, false),
    };
    let rest = named.strip_prefix(b"/FlateDecode")?.trim_ascii_start();
    let alone = if list {
        rest.starts_with(b"]")
    } else {
        rest.starts_with(b"/") || rest.starts_with(b">>")
    };
    alone.then_some(Filter::Flate)
}

fn holds(text: &[u8], word: &[u8]) -> bool {
    find(text, word).is_some()
}

fn find(text: &[u8], word: &[u8]) -> Option<usize> {
    text.windows(word.len()).position(|part| part == word)
}

fn rfind(text: &[u8], word: &[u8]) -> Option<usize> {
    text.windows(word.len()).rposition(|part| part == word)
}

#[cfg(test)]
#[expect(clippy::expect_used, reason = "a test that cannot go on should stop")]
mod tests {
    use std::io::Write;

    use flate2::Compression;
    use flate2::write::ZlibEncoder;

    use super::*;

    fn packed(bytes: &[u8]) -> Vec<u8> {
        let mut packing = ZlibEncoder::new(Vec::new(), Compression::best());
        packing.write_all(bytes).expect("in memory");
        packing.finish().expect("in memory")
    }

    fn pdf(dictionary: &str, data: &[u8]) -> Vec<u8> {
        let mut file =
            format!("%PDF-1.7\n7 0 obj\n<< /Type /EmbeddedFile {dictionary} >>\nstream\n")
                .into_bytes();
        file.extend_from_slice(data);
        file.extend_from_slice(b"\nendstream\nendobj\n%%EOF");
        file
    }

    fn inside(dictionary: &str, data: &[u8]) -> Option<Vec<u8>> {
        let file = pdf(dictionary, data);
        let (dictionary, data) = streams(&file).next()?;
        content(dictionary, data)
    }

    #[test]
    fn an_attached_file_is_read_plain_or_packed_once() {
        let text = b"{\"number\": 7}";
        assert_eq!(inside("", text).as_deref(), Some(&text[..]));
        for filter in ["/Filter /FlateDecode", "/Filter [ /FlateDecode ]"] {
            assert_eq!(
                inside(filter, &packed(text)).as_deref(),
                Some(&text[..]),
                "{filter}"
            );
        }
    }

    #[test]
    fn what_would_unpack_beyond_the_limit_is_given_up_at_the_limit() {
        let bomb = packed(&vec![0; 64 * LARGEST]);
        assert!(bomb.len() < LARGEST / 8, "the file itself is small");
        assert!(inside("/Filter /FlateDecode", &bomb).is_none());
        let just = packed(&vec![b' '; LARGEST]);
        assert_eq!(
            inside("/Filter /FlateDecode", &just).map(|bytes| bytes.len()),
            Some(LARGEST)
        );
    }

    #[test]
    fn what_is_packed_twice_or_otherwise_is_not_unpacked_at_all() {
        let twice = packed(&packed(b"{}"));
        for filter in [
            "/Filter [/FlateDecode /FlateDecode]",
            "/Filter /LZWDecode",
            "/Filter [/ASCIIHexDecode /FlateDecode]",
            "/Filter /FlateDecode /DecodeParms << /Predictor 12 >>",
        ] {
            assert!(inside(filter, &twice).is_none(), "{filter}");
        }
    }

    #[test]
    fn any_bytes_are_read_without_harm() {
        for file in [
            &b""[..],
            b"stream",
            b">>stream",
            b">>stream\n",
            b"/EmbeddedFile>>stream\nendstream",
        ] {
            assert!(record(file).is_none());
        }
    }
}
