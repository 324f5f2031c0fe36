//! People and what they may do. Passwords are known here only as something that was set or not.

use super::ids::PersonId;
use super::words::words;

words! {
    /// The five roles of the product.
    Role, "the role" {
        Technician: "technician", "technician";
        Storekeeper: "storekeeper", "storekeeper";
        Inspector: "inspector", "inspector";
        Engineer: "engineer", "reliability engineer";
        Administrator: "administrator", "administrator";
    }
}

words! {
    /// In which units somebody reads figures, beside what was stamped.
    Reads, "how you read figures" {
        AsStamped: "as-stamped", "as stamped only";
        UsCustomary: "us-customary", "US customary";
        Si: "si", "SI";
    }
}

/// Somebody who signs in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    /// The row.
    pub id: PersonId,
    /// What is typed to sign in.
    pub sign_in: String,
    /// The name that stands on records.
    pub name: String,
    /// What they may do.
    pub role: Role,
    /// Whether the account is closed.
    pub closed: bool,
    /// Whether a password has been set.
    pub password_set: bool,
    /// In which units they read figures.
    pub reads: Reads,
    /// Counts the changes.
    pub version: i64,
}

/// Reads a sign-in name: 2 to 60 letters, digits, dots, hyphens, underscores or an at sign.
///
/// # Errors
/// Says what is allowed.
pub fn sign_in_name(text: &str) -> Result<String, String> {
    let text = text.trim();
    let length = text.chars().count();
    let allowed = |c: char| c.is_alphanumeric() || matches!(c, '.' | '-' | '_' | '@' | '+');
    if (2..=60).contains(&length) && text.chars().all(allowed) {
        Ok(text.to_lowercase())
    } else {
        Err("A sign-in name has 2 to 60 letters, digits, dots or hyphens".to_owned())
    }
}

/// Checks a new password: 12 to 200 characters, not the sign-in name.
///
/// # Errors
/// Says what is wanted. No rules about kinds of characters: length is what counts (NIST SP 800-63B).
pub fn password(text: &str, sign_in: &str) -> Result<(), String> {
    let length = text.chars().count();
    if length < 12 {
        return Err(
            "A password has at least 12 characters; four or five words make a good one".to_owned(),
        );
    }
    if length > 200 {
        return Err("A password has at most 200 characters".to_owned());
    }
    if text.to_lowercase().contains(&sign_in.to_lowercase()) && sign_in.len() > 3 {
        return Err("A password must not hold the sign-in name".to_owned());
    }
    let mut distinct: Vec<char> = text.chars().collect();
    distinct.sort_unstable();
    distinct.dedup();
    if distinct.len() < 5 {
        return Err("Use more than four different characters".to_owned());
    }
    Ok(())
}
