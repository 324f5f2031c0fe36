//! Papers and tables on their way out: set or written off the threads that answer requests, with the
//! headers of a file to keep. What is in them is the papers' affair.

use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::IntoResponse;

use super::answer::{Answer, PageError};
use crate::papers::table::{Table, csv, xlsx};
use crate::papers::typeset::{Paper, PaperError};
use crate::record::Refusal;

/// The paper size an address asks for; A4 where it asks for none.
///
/// # Errors
/// There is no other size.
pub fn size(asked: &str) -> Result<Paper, PageError> {
    match asked {
        "" | "a4" => Ok(Paper::A4),
        "letter" => Ok(Paper::Letter),
        _ => Err(PageError::NotFound("paper of that size")),
    }
}

/// A file to keep under a name.
pub fn file(name: &str, media_type: &str, bytes: Vec<u8>) -> Answer {
    let plain: String = name
        .chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() || matches!(c, '-' | '.' | '_') {
                c
            } else {
                '_'
            }
        })
        .collect();
    let headers = [
        (CONTENT_TYPE, media_type.to_owned()),
        (
            CONTENT_DISPOSITION,
            format!("attachment; filename=\"{plain}\""),
        ),
    ];
    Ok((headers, bytes).into_response())
}

/// A paper somebody brought in, named for the mark of its content. Always to keep, never to run inside
/// of the register's own pages.
pub fn kept(name: &str, mark: &str, media_type: &str, bytes: Vec<u8>) -> Answer {
    let ending = match media_type {
        "application/pdf" => "pdf",
        "image/png" => "png",
        _ => "jpg",
    };
    let short = mark.get(..8).unwrap_or_default();
    file(&format!("{name}-{short}.{ending}"), media_type, bytes)
}

/// Sets a paper and answers with it.
///
/// # Errors
/// A refusal that names characters no font can show; otherwise that the paper could not be made.
pub async fn pdf<F>(name: &str, set: F) -> Answer
where
    F: FnOnce() -> Result<Vec<u8>, PaperError> + Send + 'static,
{
    let bytes = tokio::task::spawn_blocking(set)
        .await
        .map_err(|error| PageError::Paper(error.to_string()))?
        .map_err(|error| match error {
            PaperError::Unprintable { .. } => {
                PageError::Refused(Refusal::not_now(format!("It cannot be printed: {error}")))
            }
            other => PageError::Paper(other.to_string()),
        })?;
    file(name, "application/pdf", bytes)
}

/// Writes a table as "xlsx" or "csv" and answers with it.
///
/// # Errors
/// That the table could not be written, or that there is no such form of it.
pub async fn table(name: &str, form: &str, table: Table) -> Answer {
    let (media_type, write): (_, fn(&Table) -> _) = match form {
        "xlsx" => (
            "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
            xlsx,
        ),
        "csv" => ("text/csv; charset=utf-8", csv),
        _ => return Err(PageError::NotFound("page")),
    };
    let bytes = tokio::task::spawn_blocking(move || write(&table))
        .await
        .map_err(|error| PageError::Paper(error.to_string()))?
        .map_err(|error| PageError::Paper(error.to_string()))?;
    file(&format!("{name}.{form}"), media_type, bytes)
}
