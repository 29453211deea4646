//! A program that lives as long as the tests do.

use std::io::{BufRead, BufReader, Read};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

/// Starts a program in a session and a temporary folder of its own, and waits until its input
/// closes: that is when the tests have ended, in whatever way. Then it ends the program with all
/// that it started and removes the folder. An interrupt from the terminal is left to the tests.
const KEEPER: &str = r#"
    trap '' INT
    folder=$(mktemp -d)
    TMPDIR=$folder setsid "$@" </dev/null &
    read -r nothing
    kill -- -$!
    wait
    rm -rf "$folder" 2>/dev/null || { sleep 1; rm -rf "$folder"; }
"#;

/// A program that writes what is to be known of it to its output when it is ready.
#[derive(Debug)]
pub(crate) struct Kept {
    _keeper: Child,
    _input: ChildStdin,
    _output: BufReader<ChildStdout>,
    ready: String,
}

impl Kept {
    /// Starts the program and reads its output up to the first line that has the mark in it.
    pub(crate) fn start(program: &[&str], mark: &str) -> Self {
        let mut keeper = Command::new("sh")
            .args(["-c", KEEPER, "keeper"])
            .args(program)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("a shell is needed");
        let input = keeper.stdin.take().expect("the input was piped");
        let output = keeper.stdout.take().expect("the output was piped");
        let mut output = BufReader::new(output);
        let ready = output
            .by_ref()
            .lines()
            .map_while(Result::ok)
            .find(|line| line.contains(mark))
            .unwrap_or_else(|| panic!("{program:?} did not start. `tests/run` installs it."));
        Self {
            _keeper: keeper,
            _input: input,
            _output: output,
            ready,
        }
    }

    /// The line that said that the program was ready.
    pub(crate) fn ready(&self) -> &str {
        &self.ready
    }
}
