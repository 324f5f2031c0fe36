//! A QR code (ISO/IEC 18004) as a picture a template can place. What it says is its caller's.

use std::fmt::Write;

use qrcode::types::Color;
use qrcode::{EcLevel, QrCode, types::QrError};

/// Light modules around a code, so that readers find it (ISO/IEC 18004 asks for four).
const QUIET: usize = 4;

/// The dark modules of a code as an SVG path, one unit a module, and the side with its quiet zone.
pub(super) fn modules(text: &str, level: EcLevel) -> Result<(usize, String), QrError> {
    let code = QrCode::with_error_correction_level(text, level)?;
    let wide = code.width();
    let mut path = String::new();
    for (y, row) in code.to_colors().chunks(wide).enumerate() {
        let mut x = 0;
        for run in row.chunk_by(|a, b| a == b) {
            if run[0] == Color::Dark {
                let (left, top, length) = (x + QUIET, y + QUIET, run.len());
                // Writing into a text cannot fail.
                let _ = write!(path, "M{left} {top}h{length}v1h-{length}z");
            }
            x += run.len();
        }
    }
    Ok((wide + 2 * QUIET, path))
}

/// The code of a text as SVG, black on nothing, one unit a module; nothing where the text is too
/// long for any code. A quarter of it may be dirty and it still reads.
pub fn svg(text: &str) -> Option<String> {
    let (side, path) = modules(text, EcLevel::Q).ok()?;
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {side} {side}\"><path fill=\"#000\" d=\"{path}\"/></svg>"
    ))
}
