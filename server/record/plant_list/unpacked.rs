//! Looks at a packed workbook before anything is unpacked from it: what its directory says it
//! will grow to, and what really comes out, each with a limit. Reading cells is elsewhere.

use std::io::{Cursor, Read};

use zip::ZipArchive;

use super::reading::Unreadable;

/// Most bytes a workbook may unpack to. A list of 60 000 lines needs about half of it.
const MOST_UNPACKED: u64 = 256 * 1024 * 1024;
/// Most bytes of the strings the sheets share, which are held in memory while cells are read.
const MOST_STRINGS: u64 = 64 * 1024 * 1024;
/// Most parts of a workbook.
const MOST_PARTS: usize = 5_000;

fn too_large() -> Unreadable {
    Unreadable::new(
        "This workbook unpacks to far more than its size; nothing of it was read. Copy the list into a new workbook, or save it as CSV",
    )
}

fn damaged() -> Unreadable {
    Unreadable::new(
        "This workbook is damaged or not complete. Open it in the spreadsheet, save it again as .xlsx or as CSV, and choose that file",
    )
}

/// Lets a workbook pass that can be read within the limits.
///
/// The directory of a packed file may lie about sizes, so every part is unpacked once and counted,
/// and the counting stops at the limit.
pub fn check(bytes: &[u8]) -> Result<(), Unreadable> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| damaged())?;
    if archive.len() > MOST_PARTS {
        return Err(too_large());
    }
    let mut said = 0_u64;
    let mut workbook = false;
    for index in 0..archive.len() {
        let part = archive.by_index_raw(index).map_err(|_| damaged())?;
        if part.encrypted() {
            return Err(Unreadable::new(
                "This workbook has a password. Save it without one and choose it again",
            ));
        }
        said = said.saturating_add(part.size());
        workbook = workbook || part.name_raw().ends_with(b"workbook.xml");
    }
    if said > MOST_UNPACKED {
        return Err(too_large());
    }
    if !workbook {
        return Err(Unreadable::new(
            "This packed file holds no .xlsx workbook. Open the list in the spreadsheet and save it as .xlsx or as CSV",
        ));
    }
    let mut left = MOST_UNPACKED;
    for index in 0..archive.len() {
        let part = archive.by_index(index).map_err(|_| damaged())?;
        let shared = part
            .name_raw()
            .to_ascii_lowercase()
            .ends_with(b"sharedstrings.xml");
        let most = if shared { MOST_STRINGS.min(left) } else { left };
        left -= if shared {
            let mut kept = Vec::new();
            let read = part
                .take(most + 1)
                .read_to_end(&mut kept)
                .map_err(|_| damaged())?;
            strings_are_honest(&kept)?;
            within(u64::try_from(read).unwrap_or(u64::MAX), most)?
        } else {
            let read = std::io::copy(&mut part.take(most + 1), &mut std::io::sink())
                .map_err(|_| damaged())?;
            within(read, most)?
        };
    }
    Ok(())
}

fn within(read: u64, most: u64) -> Result<u64, Unreadable> {
    if read > most {
        Err(too_large())
    } else {
        Ok(read)
    }
}

/// The shared strings say how many they are, and readers make room for so many at once: a number
/// the part cannot hold is refused before anybody believes it.
fn strings_are_honest(part: &[u8]) -> Result<(), Unreadable> {
    const SAID: &[u8] = b"uniquecount";
    // Half of UTF-16 is zero bytes; without them it reads like ASCII here.
    let plain: Vec<u8> = part
        .iter()
        .copied()
        .filter(|b| *b != 0)
        .take(1_000_000)
        .map(|b| b.to_ascii_lowercase())
        .collect();
    let Some(at) = plain.windows(SAID.len()).position(|w| w == SAID) else {
        return Ok(());
    };
    let digits: String = plain[at + SAID.len()..]
        .iter()
        .skip_while(|b| !b.is_ascii_digit() && **b != b'>')
        .take_while(|b| b.is_ascii_digit())
        .map(|b| char::from(*b))
        .collect();
    let said: usize = digits.parse().unwrap_or(usize::MAX);
    if !digits.is_empty() && said > part.len() {
        return Err(damaged());
    }
    Ok(())
}
