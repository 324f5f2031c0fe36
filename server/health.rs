//! Asks a running server, over the loopback, whether it can answer: for a container or a supervisor
//! that has no other tool at hand. What the server answers is `pages/health.rs`.

use std::io::{Error, ErrorKind, Read, Result, Write};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, TcpStream};
use std::time::Duration;

/// Longer than this, and whoever asks should take the server for stuck.
const PATIENCE: Duration = Duration::from_secs(5);

/// Where a server that listens on `listen` is reached from its own machine.
fn near(listen: SocketAddr) -> SocketAddr {
    let ip = match listen.ip() {
        IpAddr::V4(ip) if ip.is_unspecified() => Ipv4Addr::LOCALHOST.into(),
        IpAddr::V6(ip) if ip.is_unspecified() => Ipv6Addr::LOCALHOST.into(),
        ip => ip,
    };
    SocketAddr::new(ip, listen.port())
}

/// Asks the server that listens on this address.
///
/// # Errors
/// Fails when nothing answers in five seconds, or the answer is not 200.
pub fn ask(listen: SocketAddr) -> Result<()> {
    let address = near(listen);
    let mut stream = TcpStream::connect_timeout(&address, PATIENCE)?;
    stream.set_read_timeout(Some(PATIENCE))?;
    stream.set_write_timeout(Some(PATIENCE))?;
    // In one piece: whoever answers after the first line is not cut off by the rest.
    let request = format!("GET /healthz HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n");
    stream.write_all(request.as_bytes())?;
    let mut start = [0_u8; 12];
    stream.read_exact(&mut start)?;
    if &start == b"HTTP/1.1 200" {
        Ok(())
    } else {
        Err(Error::new(
            ErrorKind::InvalidData,
            format!("answered {}", String::from_utf8_lossy(&start)),
        ))
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test that cannot go on should stop")]
mod tests {
    use super::*;
    use std::net::TcpListener;

    /// Serves one answer and says where.
    fn answering(words: &'static [u8]) -> SocketAddr {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = listener.local_addr().unwrap();
        std::thread::spawn(move || {
            let (mut stream, _) = listener.accept().unwrap();
            let mut asked = [0_u8; 512];
            let n = stream.read(&mut asked).unwrap();
            assert!(asked[..n].starts_with(b"GET /healthz HTTP/1.1\r\n"));
            stream.write_all(words).unwrap();
        });
        address
    }

    #[test]
    fn a_server_that_answers_is_well() {
        assert!(ask(answering(b"HTTP/1.1 200 OK\r\n\r\nok\n")).is_ok());
    }

    #[test]
    fn a_server_that_cannot_read_its_database_is_not_well() {
        let error = ask(answering(b"HTTP/1.1 503 Service Unavailable\r\n\r\n")).unwrap_err();
        assert_eq!(error.to_string(), "answered HTTP/1.1 503");
    }

    #[test]
    fn a_server_that_listens_everywhere_is_asked_on_the_loopback() {
        for (listen, asked) in [
            ("0.0.0.0:8470", "127.0.0.1:8470"),
            ("[::]:8470", "[::1]:8470"),
            ("192.0.2.7:80", "192.0.2.7:80"),
        ] {
            assert_eq!(near(listen.parse().unwrap()), asked.parse().unwrap());
        }
    }

    #[test]
    fn nobody_there_is_an_error() {
        let free = TcpListener::bind("127.0.0.1:0")
            .unwrap()
            .local_addr()
            .unwrap();
        assert!(ask(free).is_err());
    }
}
