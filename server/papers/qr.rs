//! A QR code (ISO/IEC 18004) as a picture a template can place. What it says is its caller's.

use std::fmt::Write;

use qrcodegen::{QrCode, QrCodeEcc};

/// Light modules around a code, so that readers find it (ISO/IEC 18004 asks for four).
const QUIET: i32 = 4;

/// The code of a text as SVG, black on nothing, one unit a module; nothing where the text is too
/// long for any code. A quarter of it may be dirty and it still reads.
pub fn svg(text: &str) -> Option<String> {
    let code = QrCode::encode_text(text, QrCodeEcc::Quartile).ok()?;
    let size = code.size();
    let mut path = String::new();
    for y in 0..size {
        let mut x = 0;
        while x < size {
            let begin = x;
            while x < size && code.get_module(x, y) {
                x += 1;
            }
            if x > begin {
                // Writing into a text cannot fail.
                let _ = write!(path, "M{} {}h{}v1h-{}z", begin + QUIET, y + QUIET, x - begin, x - begin);
            }
            x += 1;
        }
    }
    let whole = size + 2 * QUIET;
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {whole} {whole}\"><path fill=\"#000\" d=\"{path}\"/></svg>"
    ))
}
