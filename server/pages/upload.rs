//! A posted form that carries one file: its fields, its key, and the file up to a limit.
//! What may be in the file is decided by whoever asked for it.

use std::collections::BTreeMap;

use axum::extract::Multipart;
use axum::extract::multipart::Field;

use super::answer::PageError;
use super::chrome::Signed;

/// Longest text field beside a file, in bytes.
const LONGEST_FIELD: usize = 4096;

/// A form with a file as it came.
#[derive(Debug, Default)]
pub struct Uploaded {
    /// The form's key: the same key is never done twice.
    pub key: String,
    /// The other fields.
    pub fields: BTreeMap<String, String>,
    /// The file's name as the browser gave it; empty where none was chosen.
    pub file_name: String,
    /// The file's bytes.
    pub bytes: Vec<u8>,
    /// Whether the file was larger than the limit; then its bytes were not kept.
    pub too_large: bool,
}

/// Reads a form with a file of at most so many bytes, whose key was made for the person.
///
/// # Errors
/// Refuses a form that is none, or that another person's page made.
pub async fn read(signed: &Signed, form: Multipart, most: usize) -> Result<Uploaded, PageError> {
    let uploaded = read_open(form, most).await?;
    if signed.takes(&uploaded.key) {
        Ok(uploaded)
    } else {
        Err(PageError::BadForm(
            "the form's key is not of this person".to_owned(),
        ))
    }
}

/// Reads a form with a file of at most so many bytes that changes nothing and so carries no key.
///
/// # Errors
/// Refuses a form that is none.
pub async fn read_open(mut form: Multipart, most: usize) -> Result<Uploaded, PageError> {
    let mut uploaded = Uploaded::default();
    while let Some(field) = form.next_field().await.map_err(|e| unreadable(&e))? {
        let name = field.name().unwrap_or_default().to_owned();
        if let Some(file_name) = field.file_name().map(str::to_owned) {
            let (bytes, too_large) = at_most(field, most).await?;
            uploaded.file_name = file_name;
            uploaded.bytes = bytes;
            uploaded.too_large = too_large;
            continue;
        }
        let (bytes, _) = at_most(field, LONGEST_FIELD).await?;
        let text = String::from_utf8_lossy(&bytes).into_owned();
        if name == "key" {
            uploaded.key = text;
        } else {
            uploaded.fields.insert(name, text);
        }
    }
    Ok(uploaded)
}

/// Reads a field to its end and keeps it if it is not too long; reading on lets the browser finish
/// sending, so that it shows our answer and not a broken connection.
async fn at_most(mut field: Field<'_>, most: usize) -> Result<(Vec<u8>, bool), PageError> {
    let mut bytes = Vec::new();
    let mut too_large = false;
    while let Some(chunk) = field.chunk().await.map_err(|e| unreadable(&e))? {
        too_large = too_large || bytes.len() + chunk.len() > most;
        if too_large {
            bytes = Vec::new();
        } else {
            bytes.extend_from_slice(&chunk);
        }
    }
    Ok((bytes, too_large))
}

fn unreadable(error: &axum::extract::multipart::MultipartError) -> PageError {
    if error.status() == axum::http::StatusCode::PAYLOAD_TOO_LARGE {
        PageError::TooLarge
    } else {
        PageError::BadForm(error.to_string())
    }
}
