//! As much of a browser as fifty people at a shelf need: cookies, pages, forms, over a plain socket.
//! A connection that breaks is no answer.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

/// One person's browser.
pub struct Browser {
    address: String,
    cookie: String,
}

/// What came back, whole.
pub struct Answer {
    /// The status.
    pub status: u16,
    head: String,
    body: String,
}

impl Answer {
    /// The value of a named field of the page's form.
    pub fn field(&self, name: &str) -> Option<String> {
        let at = self.body.rfind(&format!("name=\"{name}\""))?;
        let rest = &self.body[at..];
        let tag = &rest[..rest.find('>')?];
        let value = tag.split_once("value=\"")?.1;
        Some(value.split('"').next()?.to_owned())
    }
}

impl Browser {
    /// Nobody signed in yet.
    pub fn new(address: &str) -> Self {
        Self {
            address: address.to_owned(),
            cookie: String::new(),
        }
    }

    /// Signs in; false where there was no answer.
    pub fn sign_in(&mut self, name: &str, password: &str) -> bool {
        let fields = [("name", name), ("password", password)];
        let Some(answer) = self.post("/people/sign-in", &fields) else {
            return false;
        };
        let cookie = answer.head.lines().find_map(|line| {
            let (name, value) = line.split_once(": ")?;
            name.eq_ignore_ascii_case("set-cookie").then_some(value)
        });
        match cookie.and_then(|cookie| cookie.split(';').next()) {
            Some(cookie) => {
                cookie.clone_into(&mut self.cookie);
                true
            }
            None => false,
        }
    }

    /// Visits a page.
    pub fn get(&self, path: &str) -> Option<Answer> {
        self.send(&format!("GET {path}"), "")
            .filter(|answer| answer.status == 200)
    }

    /// Sends a form.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Option<Answer> {
        let body = serde_html_form::to_string(fields).expect("a form");
        self.send(&format!("POST {path}"), &body)
    }

    fn send(&self, what: &str, body: &str) -> Option<Answer> {
        let mut socket = TcpStream::connect(&self.address).ok()?;
        let patience = Some(Duration::from_secs(20));
        socket.set_read_timeout(patience).ok()?;
        socket.set_write_timeout(patience).ok()?;
        let request = format!(
            "{what} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nCookie: {}\r\nSec-Fetch-Site: same-origin\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
            self.address,
            self.cookie,
            body.len()
        );
        socket.write_all(request.as_bytes()).ok()?;
        let mut bytes = Vec::new();
        socket.read_to_end(&mut bytes).ok()?;
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let (head, body) = text.split_once("\r\n\r\n")?;
        let status = head.split(' ').nth(1)?.parse().ok()?;
        Some(Answer {
            status,
            head: head.to_owned(),
            body: body.to_owned(),
        })
    }
}
