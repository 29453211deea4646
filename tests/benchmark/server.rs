//! The program while it serves.

use crate::client::{Client, escaped};
use crate::database::Database;
use crate::process::Place;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Stdio};

/// Serves until this value is dropped.
pub(crate) struct Server {
    child: Child,
    address: String,
}

impl Server {
    /// Starts it on a free port of the loopback.
    pub(crate) fn start(place: &Place, database: &Database) -> Self {
        let listen = ["serve", "--listen", "127.0.0.1:0"];
        let mut command = place.register(&listen);
        let command = command.args(["--database", &database.url]);
        let mut child = command.stdout(Stdio::piped()).spawn().unwrap();
        let mut said = String::new();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        out.read_line(&mut said).unwrap();
        let mut words = said.split_whitespace();
        let address = words.find_map(|word| word.strip_prefix("http://"));
        let address = address.expect("the server says what to open").to_owned();
        Self { child, address }
    }

    /// The number of its process.
    pub(crate) fn id(&self) -> u32 {
        self.child.id()
    }

    /// A new connection to it.
    pub(crate) fn client(&self) -> Client {
        Client::connect(&self.address)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

const PERSON: &str = "A. Measurer";
const PASSWORD: &str = "only while it is measured";

/// Makes an account that may record everything that is measured.
pub(crate) fn make_account(place: &Place, database: &Database) {
    let arguments = [
        "account",
        PERSON,
        "--role",
        "planner",
        "--role",
        "technician",
    ];
    let mut command = place.register(&arguments);
    let command = command.args(["--database", &database.url]);
    let command = command
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    let mut child = command.spawn().unwrap();
    let mut input = child.stdin.take().unwrap();
    writeln!(input, "{PASSWORD}").unwrap();
    drop(input);
    assert!(child.wait().unwrap().success());
}

/// Signs in and gives the cookie.
pub(crate) fn sign_in(client: &mut Client) -> String {
    let form = format!("name={}&password={}", escaped(PERSON), escaped(PASSWORD));
    let kind = "application/x-www-form-urlencoded";
    let answer = client.post("/sign-in", (kind, &form));
    let cookie = answer.header("set-cookie").expect("a cookie");
    cookie.split(';').next().unwrap().to_owned()
}
