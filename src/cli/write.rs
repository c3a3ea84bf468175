//! The one way files are written: the folder is locked, what stands there is looked at again, the new file is written beside,
//! brought to the disk and renamed. Nothing is overwritten but what landwaiter made, or a table just read.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File, Metadata, TryLockError};
use std::io::{self, BufWriter, Read, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use super::beside::{Beside, place_together, settle_names, tidy_locked};
use super::target::{Identity, descriptor, folder_of, followed, identity, kind_of};
use crate::text::{Diagnostic, words};

/// So long another run's lock is waited for.
const PATIENCE: Duration = Duration::from_mins(1);

/// What may stand where a file is to be written.
#[derive(Clone, Copy)]
pub(super) enum Over<'a> {
    /// Nothing.
    Nothing,
    /// A file of our own by its mark, or an empty one.
    Own(fn(&str, &[u8]) -> bool),
    /// The table as it was read; none when there was none.
    Table(Option<&'a [u8]>),
}

/// A file to be written.
pub(super) struct Change<'a> {
    /// Where.
    pub(super) path: PathBuf,
    /// The whole of it.
    pub(super) bytes: Vec<u8>,
    /// What may stand there.
    pub(super) over: Over<'a>,
    /// The file whose owner and permissions it gets, if not those of the file in its place.
    pub(super) like: Option<PathBuf>,
}

impl<'a> Over<'a> {
    /// A file to be written over that.
    pub(super) fn into_change(
        self,
        path: &Path,
        bytes: &[u8],
        like: Option<&PathBuf>,
    ) -> Change<'a> {
        Change {
            path: path.to_owned(),
            bytes: bytes.to_vec(),
            over: self,
            like: like.cloned(),
        }
    }
}

/// Why a file is not written, and what can be done.
pub(super) struct Refusal {
    why: String,
    help: &'static str,
}

impl Refusal {
    fn new(why: impl Into<String>, help: &'static str) -> Refusal {
        Refusal {
            why: why.into(),
            help,
        }
    }

    /// As a problem.
    fn of(self, path: &Path) -> Diagnostic {
        let stays = if fs::symlink_metadata(path).is_ok() {
            " and is as it was"
        } else {
            ""
        };
        let what = format!(
            "{} cannot be written{stays}: {}",
            words::quoted(&path.to_string_lossy()),
            self.why
        );
        if self.help.is_empty() {
            Diagnostic::error(what)
        } else {
            Diagnostic::error(what).help(self.help)
        }
    }
}

impl From<io::Error> for Refusal {
    fn from(error: io::Error) -> Refusal {
        Refusal::new(error.to_string(), "")
    }
}

impl From<Refusal> for io::Error {
    fn from(refusal: Refusal) -> io::Error {
        let joint = if refusal.help.is_empty() { "" } else { "; " };
        io::Error::other(format!("{}{joint}{}", refusal.why, refusal.help))
    }
}

/// Folders locked for writing, until this goes.
pub(super) struct Door {
    _locks: Vec<File>,
}

impl Door {
    /// Nothing locked.
    pub(super) fn none() -> Door {
        Door { _locks: Vec::new() }
    }

    /// Makes and locks the folders of these files, and clears away what killed runs left there.
    pub(super) fn open<'a>(paths: impl IntoIterator<Item = &'a Path>) -> Result<Door, Diagnostic> {
        let mut folders: BTreeMap<Option<Identity>, PathBuf> = BTreeMap::new();
        for path in paths {
            let folder = followed(path).and_then(|place| {
                let folder = folder_of(&place).to_owned();
                fs::create_dir_all(&folder)?;
                Ok(folder)
            });
            let folder = folder.map_err(|error| Refusal::from(error).of(path))?;
            folders.insert(identity(&folder), folder);
        }
        // always in the same order, so that no two runs wait for each other
        let locks: Result<Vec<Option<File>>, Diagnostic> =
            folders.values().map(|folder| lock(folder)).collect();
        let locks = locks?.into_iter().flatten().collect();
        folders.values().for_each(|folder| tidy_locked(folder));
        Ok(Door { _locks: locks })
    }

    #[expect(clippy::unused_self, reason = "only who holds the locks may write")]
    /// Writes these files. Before the first is put in its place, all are written beside theirs.
    pub(super) fn put(&self, changes: &[Change<'_>]) -> Result<(), Diagnostic> {
        let mut ready = all_prepared(changes)?;
        place_each(changes, &mut ready)
    }

    #[expect(clippy::unused_self, reason = "only who holds the locks may write")]
    /// Writes tables that belong together, all of them or none, and copies of what they were before.
    pub(super) fn put_together(
        &self,
        copies: &[Change<'_>],
        tables: &[Change<'_>],
    ) -> Result<(), Diagnostic> {
        let mut aside = all_prepared(copies)?;
        let mut ready = all_prepared(tables)?;
        place_each(copies, &mut aside)?;
        if ready.len() == 1 {
            return place_each(tables, &mut ready);
        }
        let first = tables.first().map_or(Path::new(""), |change| &change.path);
        place_together(&mut ready).map_err(|error| Refusal::from(error).of(first))
    }

    #[expect(clippy::unused_self, reason = "only who holds the locks may write")]
    /// Takes a table away that is as it was read.
    pub(super) fn remove(&self, path: &Path, read: &[u8]) -> Result<(), Diagnostic> {
        let gone = looked_at(path, Over::Table(Some(read))).and_then(|(place, _)| {
            fs::remove_file(&place)?;
            settle_names(folder_of(&place));
            Ok(())
        });
        gone.map_err(|refusal| refusal.of(path))
    }
}

/// Files written beside their places, which were looked at before and after.
fn all_prepared(changes: &[Change<'_>]) -> Result<Vec<Beside>, Diagnostic> {
    let ready = |change: &Change<'_>| prepared(change).map_err(|refusal| refusal.of(&change.path));
    let ready = changes
        .iter()
        .map(ready)
        .collect::<Result<Vec<Beside>, Diagnostic>>()?;
    for change in changes {
        looked_at(&change.path, change.over).map_err(|refusal| refusal.of(&change.path))?;
    }
    Ok(ready)
}

/// Puts files in their places one after another.
fn place_each(changes: &[Change<'_>], ready: &mut [Beside]) -> Result<(), Diagnostic> {
    for (change, beside) in changes.iter().zip(ready) {
        beside
            .place()
            .map_err(|error| Refusal::from(error).of(&change.path))?;
    }
    let folders: BTreeSet<PathBuf> = changes
        .iter()
        .filter_map(|c| Some(folder_of(&followed(&c.path).ok()?).to_owned()))
        .collect();
    folders.iter().for_each(|folder| settle_names(folder));
    Ok(())
}

/// Locks a folder against other runs; none where the system cannot do that, and the check before the renaming must do.
fn lock(folder: &Path) -> Result<Option<File>, Diagnostic> {
    let Ok(file) = File::open(folder) else {
        return Ok(None);
    };
    let began = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(Some(file)),
            Err(TryLockError::Error(_)) => return Ok(None),
            Err(TryLockError::WouldBlock) if began.elapsed() < PATIENCE => {
                std::thread::sleep(Duration::from_millis(5));
            }
            Err(TryLockError::WouldBlock) => {
                let what = format!(
                    "another run of landwaiter has been writing in {} for a minute",
                    words::quoted(&folder.to_string_lossy())
                );
                return Err(Diagnostic::error(what)
                    .help("wait for it to end, or end it, then run this again"));
            }
        }
    }
}

/// Whether what stands in a place is a file that may be written over, as far as that is seen without reading it.
fn may_be_replaced(found: &Metadata, over: Over<'_>) -> Result<(), Refusal> {
    // a table has the name that it has: another name is no way out for it
    let help = |table: &'static str, other: &'static str| match over {
        Over::Table(_) => table,
        _ => other,
    };
    if !found.is_file() {
        let what = format!("this is {}, not a file", kind_of(found));
        let help = help("a table is a file: move this away", "say another name");
        return Err(Refusal::new(what, help));
    }
    if matches!(over, Over::Nothing) {
        return Err(Refusal::new(
            "it is there already",
            "say another name, or move the file away first",
        ));
    }
    if found.permissions().readonly() {
        let help = help(
            "take the mark away",
            "take the mark away, or say another name",
        );
        return Err(Refusal::new("it is marked read-only", help));
    }
    Ok(())
}

/// Looks at what stands where a file is to be written: where that is, links followed, and what is there now.
fn looked_at(path: &Path, over: Over<'_>) -> Result<(PathBuf, Option<Metadata>), Refusal> {
    const CHANGED: &str = "run the command again";
    let place = followed(path)?;
    let found = match fs::symlink_metadata(&place) {
        Ok(found) => found,
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return match over {
                Over::Table(Some(_)) => Err(Refusal::new("it has gone in the meantime", CHANGED)),
                _ => Ok((place, None)),
            };
        }
        Err(error) => return Err(error.into()),
    };
    may_be_replaced(&found, over)?;
    let mut bytes = Vec::new();
    File::options()
        .read(true)
        .write(true)
        .open(&place)?
        .read_to_end(&mut bytes)?;
    match over {
        Over::Own(mark) if !bytes.is_empty() && !mark(&place.to_string_lossy(), &bytes) => {
            let why =
                "it is there already, and landwaiter did not make it, or it was changed since";
            Err(Refusal::new(
                why,
                "say another name, or move the file away first",
            ))
        }
        Over::Table(read) if read != Some(&bytes) => {
            Err(Refusal::new("it has changed in the meantime", CHANGED))
        }
        _ => Ok((place, Some(found))),
    }
}

/// Writes a file beside its place.
fn prepared(change: &Change<'_>) -> Result<Beside, Refusal> {
    let (place, found) = looked_at(&change.path, change.over)?;
    let like = change
        .like
        .as_ref()
        .map_or(Ok(found), |like| fs::metadata(like).map(Some))?;
    let mut beside = Beside::make(&place, like.as_ref())?;
    beside.fill(&change.bytes)?;
    Ok(beside)
}

/// Whether a file of this name and these first bytes is one of our own.
type Own = fn(&str, &[u8]) -> bool;

/// A file that is written bit by bit, over one of our own only, and takes its place when all of it is there.
pub(super) struct Growing {
    out: BufWriter<File>,
    beside: Option<(PathBuf, Beside, Own)>,
}

impl Growing {
    /// Begins one. What is no file, such as a pipe, is written to as it is.
    pub(super) fn open(path: &Path, own: fn(&str, &[u8]) -> bool) -> Result<Growing, Refusal> {
        let place = followed(path)?;
        let other = fs::metadata(&place).is_ok_and(|found| !found.is_file() && !found.is_dir());
        if other || descriptor(&place).is_some() {
            return Ok(Growing {
                out: BufWriter::new(File::options().append(true).open(&place)?),
                beside: None,
            });
        }
        let _door = Door::open([path]).map_err(|problem| Refusal::new(problem.message, ""))?;
        let (place, found) = looked_at(path, Over::Own(own))?;
        let beside = Beside::make(&place, found.as_ref())?;
        Ok(Growing {
            out: BufWriter::new(beside.handle()?),
            beside: Some((path.to_owned(), beside, own)),
        })
    }

    /// Brings it to its place.
    pub(super) fn finish(&mut self) -> io::Result<()> {
        self.out.flush()?;
        let Some((path, beside, own)) = &mut self.beside else {
            return Ok(());
        };
        self.out.get_ref().sync_all()?;
        let _door =
            Door::open([path.as_path()]).map_err(|problem| io::Error::other(problem.message))?;
        let (place, _) = looked_at(path, Over::Own(*own))?;
        beside.place()?;
        settle_names(folder_of(&place));
        Ok(())
    }
}

impl Write for Growing {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.out.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};

    use super::*;

    /// An editor knows nothing of the lock: what it saved since the table was read stays as it is.
    #[test]
    fn a_table_that_was_changed_since_it_was_read_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("receipts.csv");
        let door = Door::open([path.as_path()]).unwrap();
        for (read, there, why) in [
            (
                Some(&b"read\n"[..]),
                Some("saved\n"),
                "it has changed in the meantime",
            ),
            (Some(b"read\n"), None, "it has gone in the meantime"),
            (None, Some("saved\n"), "it has changed in the meantime"),
        ] {
            let _ = fs::remove_file(&path);
            there
                .iter()
                .for_each(|text| fs::write(&path, text).unwrap());
            let refused = door
                .put(&[Over::Table(read).into_change(&path, b"written\n", None)])
                .unwrap_err();
            assert!(refused.message.contains(why), "{}", refused.message);
            assert_eq!(fs::read_to_string(&path).ok().as_deref(), there, "{why}");
            assert_eq!(
                fs::read_dir(folder.path()).unwrap().count(),
                there.iter().count(),
                "nothing is left beside it"
            );
        }
        fs::write(&path, "read\n").unwrap();
        door.put(&[Over::Table(Some(b"read\n")).into_change(&path, b"written\n", None)])
            .unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "written\n");
    }

    /// The file is ours when it is looked at first, and somebody's own once the new one is written beside it.
    #[test]
    fn what_stands_there_is_looked_at_again_before_it_is_replaced() {
        static LOOKS: AtomicU32 = AtomicU32::new(0);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("page.html");
        fs::write(&path, "ours\n").unwrap();
        let door = Door::open([path.as_path()]).unwrap();
        let own: fn(&str, &[u8]) -> bool = |_, _| LOOKS.fetch_add(1, Ordering::Relaxed) == 0;
        let refused = door
            .put(&[Over::Own(own).into_change(&path, b"new\n", None)])
            .unwrap_err();
        assert!(
            refused.message.contains("it was changed since"),
            "{}",
            refused.message
        );
        assert_eq!(
            (
                fs::read_to_string(&path).unwrap(),
                fs::read_dir(folder.path()).unwrap().count()
            ),
            ("ours\n".to_owned(), 1)
        );
    }
}
