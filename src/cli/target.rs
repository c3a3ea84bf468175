//! What a file's name leads to: links followed, what kind of thing stands there, whether two names mean one file, and the
//! names of standard input.

use std::fs::{self, File, Metadata};
use std::io;
use std::path::{Component, Path, PathBuf};

use crate::text::Diagnostic;

/// At most this many links in a row are followed.
const MOST_LINKS: usize = 40;

/// The folder a file lies in.
pub(super) fn folder_of(path: &Path) -> &Path {
    path.parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."))
}

/// Follows symbolic links to what they lead to, whether it is there or not.
pub(super) fn followed(path: &Path) -> io::Result<PathBuf> {
    let mut at = path.to_owned();
    for _ in 0..MOST_LINKS {
        let link = fs::symlink_metadata(&at).is_ok_and(|found| found.file_type().is_symlink());
        if !link || descriptor(&at).is_some() {
            return Ok(at);
        }
        at = folder_of(&at).join(fs::read_link(&at)?);
    }
    Err(io::Error::other("the links lead in a circle"))
}

/// Whether a name means standard input: `-`, `/dev/stdin`, `/dev/fd/0`, `/proc/self/fd/0`, or a link to one of them.
pub(super) fn is_standard_input(name: &str) -> bool {
    name == "-" || followed(Path::new(name)).is_ok_and(|place| descriptor(&place) == Some(0))
}

/// Whether a name means a file that this process was given open, as a shell does with `<(...)`.
pub(super) fn is_given_open(path: &Path) -> bool {
    followed(path).is_ok_and(|place| descriptor(&place).is_some())
}

/// The number of the open file of this process that a name stands for.
pub(super) fn descriptor(path: &Path) -> Option<u32> {
    let mut whole = PathBuf::new();
    for part in std::path::absolute(path).ok()?.components() {
        if part == Component::ParentDir {
            whole.pop();
        } else {
            whole.push(part);
        }
    }
    let text = whole.to_str()?;
    let number = match text {
        "/dev/stdin" => "0",
        "/dev/stdout" => "1",
        "/dev/stderr" => "2",
        _ => {
            let own = format!("/proc/{}/fd/", std::process::id());
            ["/dev/fd/", "/proc/self/fd/", "/proc/thread-self/fd/", &own]
                .iter()
                .find_map(|start| text.strip_prefix(start))?
        }
    };
    number.parse().ok()
}

/// Which file it is, whatever its name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Identity(#[cfg(unix)] (u64, u64), #[cfg(not(unix))] PathBuf);

#[cfg(unix)]
fn identity_of(found: &Metadata) -> Identity {
    use std::os::unix::fs::MetadataExt;
    Identity((found.dev(), found.ino()))
}

/// Which file a name leads to, when there is one.
pub(super) fn identity(path: &Path) -> Option<Identity> {
    #[cfg(unix)]
    return fs::metadata(path).ok().map(|found| identity_of(&found));
    #[cfg(not(unix))]
    return fs::canonicalize(path).ok().map(Identity);
}

/// How many other names a file has, by hard links.
#[cfg(unix)]
pub(super) fn other_names(path: &Path) -> u64 {
    use std::os::unix::fs::MetadataExt;
    fs::metadata(path).map_or(0, |found| found.nlink().saturating_sub(1))
}

/// How many other names a file has, which cannot be known here.
#[cfg(not(unix))]
pub(super) fn other_names(_: &Path) -> u64 {
    0
}

/// Which file stands on standard input, when it is one.
#[cfg(unix)]
pub(super) fn identity_of_input() -> Option<Identity> {
    use std::os::fd::AsFd;
    let file = File::from(io::stdin().as_fd().try_clone_to_owned().ok()?);
    file.metadata()
        .ok()
        .filter(Metadata::is_file)
        .map(|found| identity_of(&found))
}

/// Which file stands on standard input, which cannot be known here.
#[cfg(not(unix))]
pub(super) fn identity_of_input() -> Option<Identity> {
    None
}

/// Whether what is written to a name comes out where standard output does: by one of its names, or as the same file or pipe.
/// Two that write to one device, such as `/dev/null`, do not get into each other's way.
pub(super) fn is_output(path: &Path) -> bool {
    followed(path).is_ok_and(|place| descriptor(&place) == Some(1)) || is_same_output(path)
}

#[cfg(unix)]
fn is_same_output(path: &Path) -> bool {
    use std::os::fd::AsFd;
    use std::os::unix::fs::FileTypeExt;
    let own = io::stdout()
        .as_fd()
        .try_clone_to_owned()
        .and_then(|output| File::from(output).metadata());
    own.is_ok_and(|own| {
        !own.file_type().is_char_device() && identity(path) == Some(identity_of(&own))
    })
}

/// Which file stands on standard output cannot be known here.
#[cfg(not(unix))]
fn is_same_output(_: &Path) -> bool {
    false
}

/// Why what stands under a name is not read as a file: a pipe or a device would be waited for, or never end. What this process
/// was given open is its giver's business.
pub(super) fn not_a_file(path: &Path) -> Option<Diagnostic> {
    let found = fs::metadata(path).ok()?;
    if found.is_file() || found.is_dir() || is_given_open(path) {
        return None;
    }
    let what = format!("expected a file: this is {}", kind_of(&found));
    Some(Diagnostic::error(what).help("save what comes through it to a file of its own"))
}

/// A word for what is no file.
#[cfg(unix)]
pub(super) fn kind_of(found: &Metadata) -> &'static str {
    use std::os::unix::fs::FileTypeExt;
    let kind = found.file_type();
    match () {
        () if kind.is_dir() => "a folder",
        () if kind.is_fifo() => "a pipe",
        () if kind.is_socket() => "a socket",
        () => "a device",
    }
}

/// A word for what is no file.
#[cfg(not(unix))]
pub(super) fn kind_of(found: &Metadata) -> &'static str {
    if found.is_dir() {
        "a folder"
    } else {
        "a device"
    }
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn standard_input_has_many_names() {
        let folder = tempfile::tempdir().unwrap();
        let link = folder.path().join("parts.csv");
        std::os::unix::fs::symlink("/dev/stdin", &link).unwrap();
        let own = format!("/proc/{}/fd/0", std::process::id());
        for name in [
            "-",
            "/dev/stdin",
            "/dev/fd/0",
            "/proc/self/fd/0",
            "/dev//./fd/0",
            "/dev/../dev/stdin",
            &own,
            link.to_str().unwrap(),
        ] {
            assert!(is_standard_input(name), "{name}");
        }
        for name in [
            "",
            ".",
            "parts.csv",
            "/dev/fd/1",
            "/dev/null",
            "stdin",
            "/proc/1/fd/0",
        ] {
            assert!(!is_standard_input(name), "{name}");
        }
    }

    #[test]
    fn links_are_followed_to_their_end_and_not_in_circles() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        std::os::unix::fs::symlink("two", at("one")).unwrap();
        std::os::unix::fs::symlink(at("three"), at("two")).unwrap();
        assert_eq!(followed(&at("one")).unwrap(), at("three"));
        std::os::unix::fs::symlink("one", at("three")).unwrap();
        assert!(followed(&at("one")).is_err());
    }
}
