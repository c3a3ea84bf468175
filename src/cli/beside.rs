//! Files on their way to their place: written beside it under a hidden name of our own, then renamed; and what a killed run
//! left under such names, cleared away by the next.
//!
//! A file on its way is locked by the run that writes it, so that what no run has locked was left behind.

use std::fs::{self, File, Metadata};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::target::folder_of;
use crate::book::TABLES;
use crate::text::check_sum::check_sum;

/// How hidden names of ours begin; the number of the run and a number of its own follow.
const START: &str = ".landwaiter-";

/// How a file on its way ends.
const NEW: &str = ".new";

/// How a list of files that take their places together ends.
const LIST: &str = ".list";

/// Whether a name is one of ours with this ending.
fn is_ours(name: &str, ending: &str) -> bool {
    let number = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let inner = name
        .strip_prefix(START)
        .and_then(|rest| rest.strip_suffix(ending));
    inner
        .and_then(|inner| inner.split_once('-'))
        .is_some_and(|(run, own)| number(run) && number(own))
}

fn name_of(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

/// A file on its way; it is gone again unless it was put in its place.
pub(super) struct Beside {
    path: PathBuf,
    target: PathBuf,
    file: File,
    placed: bool,
}

impl Beside {
    /// An empty one, which belongs to whom the file `like` belongs and is open to the same.
    pub(super) fn make(target: &Path, like: Option<&Metadata>) -> io::Result<Beside> {
        const TRIES: u32 = 10_000;
        let mut failed = io::Error::other("no name is free beside it");
        for number in 0..TRIES {
            let path =
                folder_of(target).join(format!("{START}{}-{number}{NEW}", std::process::id()));
            match File::options().write(true).create_new(true).open(&path) {
                Ok(file) => {
                    let beside = Beside {
                        path,
                        target: target.to_owned(),
                        file,
                        placed: false,
                    };
                    // where files cannot be locked, nothing is cleared away either
                    let _ = beside.file.try_lock();
                    like.map_or(Ok(()), |like| beside.be_like(like))?;
                    return Ok(beside);
                }
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => {
                    failed = error;
                    break;
                }
            }
        }
        Err(failed)
    }

    fn be_like(&self, like: &Metadata) -> io::Result<()> {
        keep_owner(&self.file, like)?;
        self.file.set_permissions(like.permissions())
    }

    /// Another handle to write through.
    pub(super) fn handle(&self) -> io::Result<File> {
        self.file.try_clone()
    }

    /// Writes all of it, down to the disk.
    pub(super) fn fill(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.file.write_all(bytes)?;
        self.file.sync_all()
    }

    /// Puts it in its place, where at any moment either the old file or the new one is to be found.
    pub(super) fn place(&mut self) -> io::Result<()> {
        fs::rename(&self.path, &self.target)?;
        self.placed = true;
        Ok(())
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        if !self.placed {
            let _ = fs::remove_file(&self.path);
        }
    }
}

/// Brings a folder's own list of names to the disk, where the system lets a folder be opened.
pub(super) fn settle_names(folder: &Path) {
    let _ = File::open(folder).and_then(|folder| folder.sync_all());
}

#[cfg(unix)]
fn keep_owner(file: &File, like: &Metadata) -> io::Result<()> {
    use std::os::unix::fs::{MetadataExt, fchown};
    let new = file.metadata()?;
    let user = (new.uid() != like.uid()).then(|| like.uid());
    let group = (new.gid() != like.gid()).then(|| like.gid());
    if user.is_none() && group.is_none() {
        return Ok(());
    }
    fchown(file, user, group).map_err(|_| {
        io::Error::other("it belongs to another user or group, and would be yours afterwards")
    })
}

#[cfg(not(unix))]
fn keep_owner(_: &File, _: &Metadata) -> io::Result<()> {
    Ok(())
}

/// What a table was before it was written anew.
fn state_of(target: &Path) -> String {
    fs::read(target).map_or_else(
        |_| "none".to_owned(),
        |bytes| format!("{}-{}", bytes.len(), check_sum(&bytes)),
    )
}

/// Puts several tables of one folder in their places: all of them, or none. A list of them stands beside while they take their
/// places, so that the next run goes on where a killed one stopped.
pub(super) fn place_together(all: &mut [Beside]) -> io::Result<()> {
    let Some(first) = all.first() else {
        return Ok(());
    };
    let folder = folder_of(&first.target).to_owned();
    if all.iter().any(|one| folder_of(&one.target) != folder) {
        return Err(io::Error::other(
            "the tables lie in different folders, by a link: add to one of them at a time",
        ));
    }
    let rows = all.iter().map(|one| {
        format!(
            "{}\t{}\t{}\n",
            name_of(&one.path),
            name_of(&one.target),
            state_of(&one.target)
        )
    });
    let text = rows.collect::<String>() + "end\n";
    let mut list = Beside::make(&folder.join(LIST), None)?;
    list.target = folder.join(name_of(&list.path).replace(NEW, LIST));
    list.fill(text.as_bytes())?;
    list.place()?;
    settle_names(&folder);
    for (at, one) in all.iter_mut().enumerate() {
        if let Err(error) = one.place() {
            if at == 0 {
                let _ = fs::remove_file(&list.target);
                return Err(error);
            }
            all.iter_mut().for_each(|one| one.placed = true);
            return Err(io::Error::other(format!(
                "{error}; the rest of it is written by the next run"
            )));
        }
    }
    settle_names(&folder);
    fs::remove_file(&list.target)
}

/// The names of ours in a folder.
fn ours_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten();
    let mut names: Vec<String> = entries
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .collect();
    names.retain(|name| is_ours(name, NEW) || is_ours(name, LIST));
    names.sort();
    names
}

/// The file under a name of ours, when no run has it locked.
fn left_behind(path: &Path) -> Option<File> {
    let file = fs::symlink_metadata(path)
        .is_ok_and(|found| found.is_file())
        .then(|| File::open(path).ok())??;
    file.try_lock().is_ok().then_some(file)
}

/// Clears away what a killed run left in a folder that this run has locked: tables that were taking their places together go
/// there, all else goes.
pub(super) fn tidy_locked(folder: &Path) {
    let names = ours_in(folder);
    for name in names.iter().filter(|name| is_ours(name, LIST)) {
        let path = folder.join(name);
        if let Some(_lock) = left_behind(&path) {
            go_on(folder, &fs::read_to_string(&path).unwrap_or_default());
            let _ = fs::remove_file(&path);
        }
    }
    for name in names.iter().filter(|name| is_ours(name, NEW)) {
        let path = folder.join(name);
        if let Some(_lock) = left_behind(&path) {
            let _ = fs::remove_file(&path);
        }
    }
}

/// The same for a folder that is only read: nothing is waited for.
pub(super) fn tidy(folder: &Path) {
    if ours_in(folder).is_empty() {
        return;
    }
    if let Some(lock) = File::open(folder)
        .ok()
        .filter(|lock| lock.try_lock().is_ok())
    {
        tidy_locked(folder);
        drop(lock);
    }
}

/// Renames what a whole list says, within this folder, names of ours to tables of a book; a table that was changed since stays.
fn go_on(folder: &Path, list: &str) {
    let Some(rows) = list.strip_suffix("end\n") else {
        return;
    };
    for row in rows.lines() {
        let [new, target, state] = row.split('\t').collect::<Vec<_>>()[..] else {
            continue;
        };
        let table = target
            .strip_suffix(".csv")
            .is_some_and(|table| TABLES.contains(&table));
        let target = folder.join(target);
        if is_ours(new, NEW) && table && state_of(&target) == state {
            let _ = fs::rename(folder.join(new), target);
        }
    }
    settle_names(folder);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        files
            .iter()
            .for_each(|(name, text)| fs::write(folder.path().join(name), text).unwrap());
        folder
    }

    fn names(folder: &tempfile::TempDir) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn only_names_of_our_own_that_nobody_writes_are_cleared_away() {
        let users = [
            ".landwaiter-1-0.new.txt",
            ".landwaiter-1.new",
            ".landwaiter-x-0.new",
            ".landwaiter-.new",
            "landwaiter-1-0.new",
        ];
        let mut files: Vec<(&str, &str)> = users.iter().map(|name| (*name, "mine")).collect();
        files.extend([
            (".landwaiter-1-0.new", "half"),
            (".landwaiter-1-1.new", "busy"),
            (".landwaiter-7-7.list", "cut sho"),
        ]);
        let folder = folder(&files);
        let busy = File::open(folder.path().join(".landwaiter-1-1.new")).unwrap();
        busy.lock().unwrap();
        tidy(folder.path());
        let mut expected: Vec<&str> = users.to_vec();
        expected.push(".landwaiter-1-1.new");
        expected.sort_unstable();
        assert_eq!(names(&folder), expected);
    }

    #[test]
    fn tables_that_were_taking_their_places_together_go_there() {
        let list = ".landwaiter-1-0.new\treceipts.csv\tnone\n.landwaiter-1-1.new\tweighings.csv\tnone\nend\n";
        let folder = folder(&[
            (".landwaiter-1-1.new", "weighed"),
            ("receipts.csv", "charged"),
            (".landwaiter-1-2.list", list),
        ]);
        tidy(folder.path());
        assert_eq!(names(&folder), ["receipts.csv", "weighings.csv"]);
        assert_eq!(
            fs::read_to_string(folder.path().join("receipts.csv")).unwrap(),
            "charged",
            "it was in its place already"
        );
        assert_eq!(
            fs::read_to_string(folder.path().join("weighings.csv")).unwrap(),
            "weighed"
        );
    }

    /// A list is a file that anybody may put into a book: it moves nothing but our own files, and onto nothing but tables.
    #[test]
    fn a_list_moves_only_files_of_ours_to_tables_that_nobody_changed() {
        let rows = "mine.txt\treceipts.csv\tnone\n.landwaiter-1-0.new\t../out.csv\tnone\n.landwaiter-1-0.new\tnotes.csv\tnone\n\
                    .landwaiter-1-0.new\tparts.csv\tnone\nend\n";
        let folder = folder(&[
            (".landwaiter-1-0.new", "new"),
            (".landwaiter-1-1.list", rows),
            ("mine.txt", "mine"),
            ("parts.csv", "changed"),
        ]);
        tidy(folder.path());
        assert_eq!(names(&folder), ["mine.txt", "parts.csv"]);
        assert_eq!(
            fs::read_to_string(folder.path().join("parts.csv")).unwrap(),
            "changed"
        );
    }
}
