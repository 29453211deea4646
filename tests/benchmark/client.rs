//! A client that keeps its connection: what is measured is the server and the loopback, not a
//! library.

use std::fmt::Write as _;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

/// One connection to a server.
pub(crate) struct Client {
    stream: BufReader<TcpStream>,
    address: String,
    /// Headers that every request has, each with its end of line.
    headers: String,
}

/// An answer.
pub(crate) struct Answer {
    /// The status.
    pub(crate) status: u16,
    /// The header lines.
    pub(crate) headers: Vec<String>,
    /// The body.
    pub(crate) body: Vec<u8>,
    /// From sending the request to the last byte of the body.
    pub(crate) took: Duration,
}

impl Client {
    /// Connects to an address such as `127.0.0.1:8080`.
    pub(crate) fn connect(address: &str) -> Self {
        let stream = TcpStream::connect(address).unwrap();
        stream.set_nodelay(true).unwrap();
        Self {
            stream: BufReader::new(stream),
            address: address.to_owned(),
            headers: String::new(),
        }
    }

    /// The client with the cookie of a session and the form token that goes with it.
    pub(crate) fn signed_in(mut self, cookie: &str) -> Self {
        self.headers = format!("cookie: {cookie}\r\n");
        let session = self.get("/api/v1/session").json();
        let token = session["form_token"].as_str().unwrap();
        write!(self.headers, "x-form-token: {token}\r\n").unwrap();
        self
    }

    /// Asks for a path; anything but success ends the measurement.
    pub(crate) fn get(&mut self, path: &str) -> Answer {
        let answer = self.send(&format!("GET {path}"), ("text/plain", ""));
        assert_eq!(answer.status, 200, "{path}: {}", answer.text());
        answer
    }

    /// Sends a body of a kind.
    pub(crate) fn post(&mut self, path: &str, content: (&str, &str)) -> Answer {
        self.send(&format!("POST {path}"), content)
    }

    fn send(&mut self, line: &str, (kind, body): (&str, &str)) -> Answer {
        let request = format!(
            "{line} HTTP/1.1\r\nhost: {}\r\n{}content-type: {kind}\r\ncontent-length: {}\r\n\r\n{body}",
            self.address,
            self.headers,
            body.len()
        );
        let sent = Instant::now();
        self.stream.get_mut().write_all(request.as_bytes()).unwrap();
        let mut headers = Vec::new();
        loop {
            let mut line = String::new();
            self.stream.read_line(&mut line).unwrap();
            match line.trim_end() {
                "" => break,
                line => headers.push(line.to_owned()),
            }
        }
        let length = header(&headers, "content-length");
        let length = length.expect("an answer with its length").parse().unwrap();
        let mut body = vec![0; length];
        self.stream.read_exact(&mut body).unwrap();
        let took = sent.elapsed();
        let status = headers[0].split(' ').nth(1).unwrap().parse().unwrap();
        Answer {
            status,
            headers,
            body,
            took,
        }
    }
}

fn header<'a>(headers: &'a [String], name: &str) -> Option<&'a str> {
    let mut pairs = headers.iter().filter_map(|line| line.split_once(": "));
    pairs.find_map(|(key, value)| key.eq_ignore_ascii_case(name).then_some(value))
}

impl Answer {
    /// The value of a header.
    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        header(&self.headers, name)
    }

    /// The body as text.
    pub(crate) fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// The body read as JSON.
    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.body).unwrap()
    }
}

/// A value as it stands in an address.
pub(crate) fn escaped(text: &str) -> String {
    let mut escaped = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            escaped.push(char::from(byte));
        } else {
            write!(escaped, "%{byte:02X}").unwrap();
        }
    }
    escaped
}
