//! Runs the program on books made on the spot: files, arguments, standard input; then its output and status.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A run in preparation, in a folder of its own that is gone afterwards.
pub(crate) struct Run {
    dir: tempfile::TempDir,
    at: PathBuf,
    args: Vec<String>,
    stdin: Vec<u8>,
    columns: usize,
}

/// What came of it.
pub(crate) struct Ran {
    pub(crate) status: i32,
    pub(crate) out: String,
    pub(crate) err: String,
    dir: tempfile::TempDir,
}

/// A run with these words as arguments.
pub(crate) fn landwaiter(args: &str) -> Run {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path().to_owned();
    Run {
        dir,
        at,
        args: args.split_whitespace().map(str::to_owned).collect(),
        stdin: Vec::new(),
        columns: 100,
    }
}

/// A folder of this project.
pub(crate) fn project(folder: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(folder)
}

impl Run {
    /// Writes a file into the run's folder.
    pub(crate) fn file(self, name: &str, contents: impl AsRef<[u8]>) -> Run {
        let path = self.dir.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, contents).unwrap();
        self
    }

    /// Makes a symbolic link in the run's folder.
    #[cfg(unix)]
    pub(crate) fn link(self, to: &str, name: &str) -> Run {
        std::os::unix::fs::symlink(to, self.dir.path().join(name)).unwrap();
        self
    }

    /// Runs in a folder of the project instead.
    pub(crate) fn within(mut self, folder: impl Into<PathBuf>) -> Run {
        self.at = folder.into();
        self
    }

    /// On a terminal of another width than 100.
    pub(crate) fn columns(mut self, columns: usize) -> Run {
        self.columns = columns;
        self
    }

    /// One more argument, which may hold blanks.
    pub(crate) fn arg(mut self, arg: &str) -> Run {
        self.args.push(arg.to_owned());
        self
    }

    /// What stands on standard input.
    pub(crate) fn stdin(mut self, bytes: impl Into<Vec<u8>>) -> Run {
        self.stdin = bytes.into();
        self
    }

    fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_landwaiter"));
        command
            .args(&self.args)
            .current_dir(&self.at)
            .env("NO_COLOR", "1")
            .env("LC_ALL", "C.UTF-8")
            .env("COLUMNS", self.columns.to_string());
        command
    }

    /// Runs, and waits for the end.
    pub(crate) fn go(self) -> Ran {
        let mut command = self.command();
        let mut child = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut input = child.stdin.take().unwrap();
        let bytes = self.stdin;
        let writer = std::thread::spawn(move || input.write_all(&bytes));
        let output = child.wait_with_output().unwrap();
        let _ = writer.join().unwrap();
        Ran {
            status: output.status.code().expect("a status, not a signal"),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
            dir: self.dir,
        }
    }

    /// Runs with nobody reading what it writes; the status.
    pub(crate) fn go_unread(self) -> i32 {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        self.command()
            .stdin(Stdio::null())
            .stdout(writer)
            .stderr(Stdio::null())
            .status()
            .unwrap()
            .code()
            .unwrap()
    }

    /// Runs with its output going into a file; the status and standard error.
    pub(crate) fn go_into(self, file: fs::File) -> (i32, String) {
        let output = self
            .command()
            .stdin(Stdio::null())
            .stdout(file)
            .stderr(Stdio::piped())
            .output()
            .unwrap();
        (
            output.status.code().unwrap(),
            String::from_utf8(output.stderr).unwrap(),
        )
    }
}

impl Ran {
    /// The names of the files in a folder that the run left behind.
    pub(crate) fn names(&self, folder: &str) -> Vec<String> {
        let entries = fs::read_dir(self.dir.path().join(folder)).unwrap();
        let mut names: Vec<String> = entries
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    /// The run must have ended with this status.
    pub(crate) fn ends(self, status: i32) -> Ran {
        assert_eq!(self.status, status, "standard error:\n{}", self.err);
        self
    }

    /// Another run in the folder as this one has left it.
    pub(crate) fn again(self, args: &str) -> Ran {
        let at = self.dir.path().to_owned();
        Run {
            dir: self.dir,
            at,
            ..landwaiter(args)
        }
        .go()
    }

    /// A file the run left behind.
    pub(crate) fn left(&self, name: &str) -> String {
        fs::read_to_string(self.dir.path().join(name)).unwrap()
    }

    /// Where a file lies that the run left behind.
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// Whether the run left a file or a folder behind.
    pub(crate) fn has(&self, name: &str) -> bool {
        self.dir.path().join(name).exists()
    }

    /// Standard output as JSON.
    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap()
    }
}
