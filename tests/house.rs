//! The structure of the house, read from its sources: imports go downwards only, one word leads from
//! address to page to template, SQL stays in the store, no page carries script or style of its own.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every file under a folder with this ending, as a path from the root and its text.
fn files(folder: &str, ending: &str) -> Vec<(String, String)> {
    fn walk(folder: &Path, ending: &str, found: &mut Vec<PathBuf>) {
        let Ok(entries) = fs::read_dir(folder) else {
            return;
        };
        for entry in entries {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                walk(&path, ending, found);
            } else if path.to_string_lossy().ends_with(ending) {
                found.push(path);
            }
        }
    }
    let mut found = Vec::new();
    walk(&root().join(folder), ending, &mut found);
    found.sort();
    assert!(!found.is_empty(), "no {ending} under {folder}");
    found
        .into_iter()
        .map(|path| {
            let name = path.strip_prefix(root()).expect("inside").to_string_lossy();
            let text = fs::read_to_string(&path).expect("readable");
            (name.replace('\\', "/"), text)
        })
        .collect()
}

/// The product's part of a source: what stands before its own tests, without comments.
fn code(text: &str) -> String {
    product(text)
        .lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .collect::<Vec<_>>()
        .join("\n")
}

fn product(text: &str) -> &str {
    text.split("#[cfg(test)]").next().unwrap_or_default()
}

fn none_of(found: &[String]) {
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

/// What each floor may never name.
const FLOORS: &[(&str, &[&str])] = &[
    (
        "server/calc",
        &[
            "crate::record",
            "crate::store",
            "crate::acts",
            "crate::pages",
            "crate::papers",
            "crate::demo",
            "sqlx::",
            "axum::",
            "tokio::",
            "askama",
            "tracing::",
            "getrandom",
            "now_utc",
            "SystemTime",
            "Instant::",
        ],
    ),
    (
        "server/workings",
        &[
            "crate::record",
            "crate::store",
            "crate::acts",
            "crate::pages",
            "crate::papers",
            "crate::demo",
            "sqlx::",
            "axum::",
            "tokio::",
            "askama",
            "tracing::",
            "now_utc",
            "SystemTime",
        ],
    ),
    (
        "server/record",
        &[
            "crate::workings",
            "crate::store",
            "crate::acts",
            "crate::pages",
            "crate::papers",
            "crate::demo",
            "sqlx::query",
            "axum::",
            "askama",
            "tokio::",
        ],
    ),
    (
        "server/store",
        &[
            "crate::acts",
            "crate::pages",
            "crate::papers",
            "crate::demo",
            "axum::",
            "askama",
        ],
    ),
    (
        "server/acts",
        &[
            "crate::pages",
            "crate::papers",
            "crate::demo",
            "axum::",
            "askama",
        ],
    ),
    ("server/papers", &["crate::pages", "crate::demo", "axum::"]),
    ("server/pages", &["crate::demo", "sqlx::query"]),
    ("server/demo", &["crate::pages", "axum::"]),
];

#[test]
fn imports_go_downwards_only() {
    let mut wrong = Vec::new();
    for (floor, forbidden) in FLOORS {
        for (name, text) in files(floor, ".rs") {
            let code = code(&text);
            for word in *forbidden {
                if code.contains(word) {
                    wrong.push(format!("{name} names {word}"));
                }
            }
        }
    }
    none_of(&wrong);
}

#[test]
fn pages_write_through_acts_only() {
    let mut wrong = Vec::new();
    for (name, text) in files("server/pages", ".rs") {
        let code = code(&text);
        for word in [
            ".write().await",
            "store::people::set_password",
            "store::audit::add",
        ] {
            if code.contains(word) {
                wrong.push(format!("{name} writes by {word}"));
            }
        }
    }
    none_of(&wrong);
}

#[test]
fn sql_stands_in_the_store_and_the_migrations_only() {
    let mut wrong = Vec::new();
    for (name, text) in files("server", ".rs") {
        if name.starts_with("server/store/") {
            continue;
        }
        let code = code(&text);
        for word in [
            "SELECT ",
            "INSERT INTO",
            "DELETE FROM",
            "CREATE TABLE",
            "sqlx::query",
        ] {
            if code.contains(word) {
                wrong.push(format!("{name} holds {word}"));
            }
        }
        if code.contains("UPDATE ") && code.contains(" SET ") {
            wrong.push(format!("{name} holds UPDATE … SET"));
        }
    }
    none_of(&wrong);
}

/// The templates a template takes in whole.
fn included(text: &str) -> impl Iterator<Item = &str> {
    text.split("{% include \"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
}

#[test]
fn a_page_and_its_template_share_one_word() {
    let mut wrong = Vec::new();
    let mut used = BTreeSet::new();
    let templates = files("templates", ".html");
    for (_, text) in &templates {
        used.extend(included(text).map(str::to_owned));
    }
    for (name, text) in files("server/pages", ".rs") {
        let shown: Vec<String> = code(&text)
            .split("#[template(path = \"")
            .skip(1)
            .filter_map(|path| path.split('"').next().map(str::to_owned))
            .collect();
        let page = |path: &String| format!("server/pages/{}.rs", path.trim_end_matches(".html"));
        let part = |path: &str| path.rsplit_once('/').map(|(part, _)| part.to_owned());
        // The first is the page's own; others (such as one that says there is nothing to show) stay
        // in its part.
        for (i, path) in shown.iter().enumerate() {
            let own = page(path) == name;
            let near = part(&page(path)) == part(&name);
            let fine = own || (i > 0 && near) || path.starts_with("parts/");
            if !fine {
                wrong.push(format!("{name} shows templates/{path}, another page's"));
            }
        }
        used.extend(shown);
    }
    for (name, _) in &templates {
        let path = name.trim_start_matches("templates/").to_owned();
        let shared = path.starts_with("parts/") || path == "base.html";
        if !shared && !used.contains(&path) {
            wrong.push(format!("{name} is no page's template"));
        }
    }
    for path in &used {
        if !root().join("templates").join(path).is_file() {
            wrong.push(format!("templates/{path} is missing"));
        }
    }
    none_of(&wrong);
}

#[test]
fn a_part_has_tests_under_its_own_word() {
    let mut wrong = Vec::new();
    for entry in fs::read_dir(root().join("server/pages")).expect("pages") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            let part = path
                .file_name()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            let file = root().join(format!("tests/{part}.rs"));
            let folder = root().join(format!("tests/{part}"));
            if !file.is_file() && !folder.is_dir() {
                wrong.push(format!("server/pages/{part} has no tests/{part}.rs"));
            }
        }
    }
    none_of(&wrong);
}

#[test]
fn no_file_is_longer_than_600_lines_before_its_tests() {
    let wrong: Vec<String> = files("server", ".rs")
        .into_iter()
        .map(|(name, text)| (name, product(&text).lines().count()))
        .filter(|(_, lines)| *lines > 600)
        .map(|(name, lines)| format!("{name} has {lines} lines"))
        .collect();
    none_of(&wrong);
}

#[test]
fn every_source_says_first_what_it_is() {
    let wrong: Vec<String> = ["server", "tests"]
        .into_iter()
        .flat_map(|folder| files(folder, ".rs"))
        .filter(|(_, text)| !text.starts_with("//! "))
        .map(|(name, _)| name)
        .collect();
    none_of(&wrong);
}

/// The free public functions of a source, with their doc comment and signature.
fn functions(text: &str) -> Vec<(String, String, String)> {
    let lines: Vec<&str> = product(text).lines().collect();
    let mut found = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        let Some(rest) = line
            .strip_prefix("pub fn ")
            .or_else(|| line.strip_prefix("pub const fn "))
        else {
            continue;
        };
        let name: String = rest
            .chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect();
        let doc: Vec<&str> = lines[..i]
            .iter()
            .rev()
            .take_while(|line| line.starts_with("///") || line.starts_with('#'))
            .copied()
            .collect();
        let signature: String = lines[i..]
            .iter()
            .take_while(|line| !line.starts_with('}'))
            .take(12)
            .copied()
            .collect();
        let signature = signature.split('{').next().unwrap_or_default().to_owned();
        found.push((name, doc.join("\n"), signature));
    }
    found
}

#[test]
fn every_computation_gives_formula_range_errors_and_source() {
    let mut wrong = Vec::new();
    for (file, text) in files("server/calc", ".rs") {
        for (name, doc, signature) in functions(&text) {
            for heading in ["# Formula", "# Valid range", "# Source"] {
                if !doc.contains(heading) {
                    wrong.push(format!("{file}: {name} has no {heading}"));
                }
            }
            if signature.contains("Result<") && !doc.contains("# Errors") {
                wrong.push(format!("{file}: {name} can fail and has no # Errors"));
            }
        }
    }
    none_of(&wrong);
}

/// A constructor that may refuse says as much of its range as a computation does.
#[test]
fn every_constructor_that_may_refuse_gives_range_errors_and_source() {
    let mut wrong = Vec::new();
    for (file, text) in files("server/calc", ".rs") {
        // The methods of a type stand one step in; lifted out they read like free functions.
        let lifted: Vec<&str> = product(&text)
            .lines()
            .map(|line| line.strip_prefix("    ").unwrap_or(line))
            .collect();
        for (name, doc, signature) in functions(&lifted.join("\n")) {
            if !signature.contains("Result<") || name.ends_with("serialize") {
                continue;
            }
            for heading in ["# Valid range", "# Errors", "# Source"] {
                if !doc.contains(heading) {
                    wrong.push(format!("{file}: {name} has no {heading}"));
                }
            }
        }
    }
    none_of(&wrong);
}

#[test]
fn every_computation_is_held_against_something_published() {
    let reference: String = files("tests/reference", ".rs")
        .into_iter()
        .map(|(_, text)| text)
        .collect();
    let words: BTreeSet<&str> = reference
        .split(|c: char| !c.is_alphanumeric() && c != '_')
        .collect();
    let mut wrong = Vec::new();
    for (file, text) in files("server/calc", ".rs") {
        for (name, ..) in functions(&text) {
            if !words.contains(name.as_str()) {
                wrong.push(format!("{file}: {name} is named in no reference test"));
            }
        }
    }
    none_of(&wrong);
}

#[test]
fn every_source_belongs_to_the_program() {
    let all = files("server", ".rs");
    let mut wrong = Vec::new();
    for (name, _) in &all {
        let short = name.trim_start_matches("server/").trim_end_matches(".rs");
        if matches!(short, "lib" | "main" | "build") {
            continue;
        }
        let short = short.trim_end_matches("/mod");
        let (parent, module) = short.rsplit_once('/').unwrap_or(("", short));
        let parents = if parent.is_empty() {
            vec!["server/lib.rs".to_owned(), "server/main.rs".to_owned()]
        } else {
            vec![
                format!("server/{parent}/mod.rs"),
                format!("server/{parent}.rs"),
            ]
        };
        let named = all.iter().any(|(other, text)| {
            parents.contains(other)
                && text.lines().any(|line| {
                    let line = line.trim_start();
                    line.starts_with(&format!("mod {module};"))
                        || line.starts_with(&format!("pub mod {module};"))
                        || line.starts_with(&format!("pub(crate) mod {module};"))
                        || line.starts_with(&format!("pub(super) mod {module};"))
                })
        });
        if !named {
            wrong.push(format!("{name} is named by no module"));
        }
    }
    none_of(&wrong);
}

#[test]
fn no_template_trusts_its_text_or_carries_script_or_style() {
    let mut wrong = Vec::new();
    for (name, text) in files("templates", ".html") {
        for word in [
            "|safe",
            "| safe",
            "{% filter safe",
            " style=",
            "<style",
            "javascript:",
            "http://",
            "https://",
        ] {
            if text.contains(word) {
                wrong.push(format!("{name} holds {word}"));
            }
        }
        for script in text.split("<script").skip(1) {
            let tag = script.split('>').next().unwrap_or_default();
            let body = script.split_once('>').map_or("", |(_, rest)| rest);
            if !tag.contains(" src=") || !body.starts_with("</script>") {
                wrong.push(format!("{name} holds a script of its own"));
            }
        }
        // An attribute that runs script: onclick, onload, …
        for (i, _) in text.match_indices(" on") {
            let word: String = text[i + 3..]
                .chars()
                .take_while(char::is_ascii_lowercase)
                .collect();
            if !word.is_empty() && text[i + 3 + word.len()..].starts_with('=') {
                wrong.push(format!("{name} holds on{word}="));
            }
        }
    }
    none_of(&wrong);
}

#[test]
fn every_form_that_writes_carries_its_key() {
    let mut wrong = Vec::new();
    let templates = files("templates", ".html");
    for (name, text) in &templates {
        for form in text.split("<form").skip(1) {
            let (tag, rest) = form.split_once('>').unwrap_or((form, ""));
            if !tag.contains("method=\"post\"") {
                continue;
            }
            let body = rest.split("</form>").next().unwrap_or_default();
            // Before anybody is signed in there is no session to make a key from; signing out needs none.
            let open = [
                "people/sign_in",
                "people/set_password",
                "people/first",
                "check/ask",
            ]
            .iter()
            .any(|page| name.contains(page))
                || tag.contains("/people/sign-out");
            let key = "name=\"key\"";
            let taken_in = included(body).any(|path| {
                templates
                    .iter()
                    .any(|(name, text)| name.ends_with(path) && text.contains(key))
            });
            if !open && !body.contains(key) && !taken_in {
                wrong.push(format!("{name} has a form without a key: {tag}"));
            }
        }
    }
    none_of(&wrong);
}

#[test]
fn every_form_of_the_bench_says_which_rebuild_it_is_of() {
    let mut wrong = Vec::new();
    let key = "parts/bench/key.html";
    for (name, text) in files("templates", ".html") {
        if name.ends_with(key) {
            assert!(text.contains("name=\"rebuild\""), "{name} names no rebuild");
        } else if name.contains("bench/") && text.contains("name=\"key\"") {
            wrong.push(format!("{name} has a form whose key is not from {key}"));
        }
    }
    none_of(&wrong);
}

#[test]
fn the_top_level_holds_what_it_may_and_nothing_else() {
    let may = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "CHANGELOG.md",
        "LICENSE",
        "sqlx.toml",
        "clippy.toml",
        "rustfmt.toml",
        "server",
        "migrations",
        "templates",
        "static",
        "tests",
        "docker",
        "target",
    ];
    let mut wrong = Vec::new();
    for entry in fs::read_dir(root()).expect("the root") {
        let name = entry
            .expect("an entry")
            .file_name()
            .to_string_lossy()
            .into_owned();
        let known =
            may.contains(&name.as_str()) || name.starts_with("LICENSE") || name.starts_with('.');
        if !known {
            wrong.push(name);
        }
    }
    none_of(&wrong);
}

/// Scripts of one page share one space of names; a name declared twice ends the second script.
#[test]
fn scripts_declare_no_name_twice() {
    let mut seen = std::collections::BTreeMap::new();
    let mut wrong = Vec::new();
    for (file, text) in files("static", ".js") {
        for line in text.lines() {
            let declared = ["const ", "let ", "class ", "function ", "async function "]
                .iter()
                .find_map(|word| line.strip_prefix(word));
            let Some(rest) = declared else { continue };
            let name: String = rest
                .chars()
                .take_while(|sign| sign.is_alphanumeric() || matches!(sign, '_' | '$'))
                .collect();
            if name.is_empty() {
                continue;
            }
            if let Some(first) = seen.insert(name.clone(), file.clone()) {
                wrong.push(format!("{name} in {first} and {file}"));
            }
        }
    }
    none_of(&wrong);
}
