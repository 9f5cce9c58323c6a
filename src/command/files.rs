//! Reading what was handed in, writing what was made.

use std::fs::{self, File};
use std::io::{Error, ErrorKind, Read};
use std::path::Path;

use super::kind::{Kind, expect};
use super::{Failure, Said};
use crate::diagnostic::Source;
use crate::job::{self, Job, Outcome};
use crate::mill::{self, Profile};
use crate::yard::{self, Yard};

/// No file is read beyond this: the longest sequence there can be takes half of it as JSON.
const BYTES_MAX: u64 = 16 << 20;

/// No line-by-line text is read beyond this: a job of 64 products takes a hundredth of it.
const TEXT_MAX: usize = 1 << 20;

/// What some editors write in front of a text in UTF-8: no letter of it, and no file of another kind begins so.
const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";

/// The bytes of a file, without a byte order mark.
pub(super) fn bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    bounded(path).map_err(|error| unreadable(path, &error))
}

/// The same, no more than there is room for: a device may never end.
fn bounded(path: &Path) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    File::open(path)?.take(BYTES_MAX + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > BYTES_MAX {
        return Err(ErrorKind::FileTooLarge.into());
    }
    if bytes.starts_with(BYTE_ORDER_MARK) {
        bytes.drain(..BYTE_ORDER_MARK.len());
    }
    Ok(bytes)
}

/// The text of a mill profile that a job names, or of a table of logs.
fn mill_text(path: &Path) -> Result<String, Error> {
    let bytes = bounded(path)?;
    if bytes.len() > TEXT_MAX {
        return Err(ErrorKind::FileTooLarge.into());
    }
    String::from_utf8(bytes).map_err(|error| Error::new(ErrorKind::InvalidData, error.utf8_error()))
}

/// The text of a job, a mill profile or a cut plan; an error where it looks like another kind of file.
pub(super) fn known(path: &Path, wanted: Kind) -> Result<Source, Failure> {
    let bytes = bytes(path)?;
    expect(path, &bytes, wanted)?;
    short_text(path, bytes)
}

/// Bytes as such a text.
pub(super) fn short_text(path: &Path, bytes: Vec<u8>) -> Result<Source, Failure> {
    if bytes.len() > TEXT_MAX {
        return Err(unreadable(path, &ErrorKind::FileTooLarge.into()));
    }
    source(path, bytes)
}

/// Bytes as the text of a file.
pub(super) fn source(path: &Path, bytes: Vec<u8>) -> Result<Source, Failure> {
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let message = format!("{} is no text: byte {at} is not UTF-8", path.display());
        Failure::wrong(&message, "look whether it is the file you mean")
    })?;
    Ok(Source::new(path.to_string_lossy(), text))
}

fn unreadable(path: &Path, error: &Error) -> Failure {
    let shown = path.display();
    let (message, help) = match error.kind() {
        ErrorKind::NotFound => (
            format!("there is no file at {shown}"),
            "look at the path and at the folder it starts from",
        ),
        ErrorKind::PermissionDenied => (
            format!("{shown} may not be read"),
            "look at who owns it, or copy it",
        ),
        ErrorKind::FileTooLarge => (
            format!("{shown} is too long to be read here"),
            "look whether it is the file you mean: texts may have 1 MiB, moves 16 MiB",
        ),
        _ if path.is_dir() => (format!("{shown} is a folder"), "name a file in it"),
        _ => (
            format!("{shown} cannot be read: {error}"),
            "look at the disk, or copy the file",
        ),
    };
    Failure::wrong(&message, help)
}

/// The input was told to be wrong already.
pub(super) fn told() -> Failure {
    Failure::ended(super::Exit::BadInput, String::new())
}

fn settled(outcome: Outcome, said: &mut Said) -> Result<Job, Failure> {
    for (source, diagnostics) in &outcome.reports {
        said.note(source, diagnostics);
    }
    outcome.job.ok_or_else(told)
}

/// A job with its mill.
pub(super) fn job(path: &Path, said: &mut Said) -> Result<Job, Failure> {
    let outcome = job::read(&known(path, Kind::Job)?, &mill_text);
    settled(outcome, said)
}

/// Many logs and what is wanted of them.
pub(super) fn yard(path: &Path, said: &mut Said) -> Result<Yard, Failure> {
    let outcome = yard::read(&known(path, Kind::Order)?, &mill_text);
    for (source, diagnostics) in &outcome.reports {
        said.note(source, diagnostics);
    }
    outcome.yard.ok_or_else(told)
}

/// The log and the setting of a job, for another mill.
pub(super) fn log(source: &Source, mill: Profile, said: &mut Said) -> Result<Job, Failure> {
    settled(job::read_log(source, mill), said)
}

/// A mill profile.
pub(super) fn profile(path: &Path, said: &mut Said) -> Result<Profile, Failure> {
    let source = known(path, Kind::Mill)?;
    let (profile, diagnostics) = mill::read(&source);
    said.note(&source, &diagnostics);
    profile.ok_or_else(told)
}

/// Writes a file in one go: first beside its place, then moved there, so that no half of it is ever read. A link
/// stays, and what it names is written; a device or a pipe is left alone, which moving would put a file in place of.
pub(super) fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    if path.is_dir() {
        return Err(Failure::wrong(
            &format!("{} is a folder", path.display()),
            "name a file in it, or move it away",
        ));
    }
    let linked = fs::symlink_metadata(path).is_ok_and(|found| found.is_symlink());
    let aim = if linked {
        fs::canonicalize(path).map_err(|error| unwritable(path, &error))?
    } else {
        path.to_owned()
    };
    let path = aim.as_path();
    if fs::metadata(path).is_ok_and(|found| !found.is_file()) {
        return Err(Failure::wrong(
            &format!("{} is a device or a pipe, not a file", path.display()),
            "name a file",
        ));
    }
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(format!(".{}.part", std::process::id()));
    let beside = path.with_file_name(name);
    let written = fs::write(&beside, bytes).and_then(|()| fs::rename(&beside, path));
    written.map_err(|error| {
        let _ = fs::remove_file(&beside);
        unwritable(path, &error)
    })
}

fn unwritable(path: &Path, error: &Error) -> Failure {
    let message = format!("{} cannot be written: {error}", path.display());
    Failure::wrong(&message, "name a folder that is yours, on a disk with room")
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;

    /// A folder of this test's own.
    fn scratch(name: &str) -> PathBuf {
        let path = std::env::temp_dir().join(format!("bunkside-{name}-{}", std::process::id()));
        fs::create_dir_all(&path).unwrap();
        path
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_and_what_it_names_is_written() {
        let folder = scratch("link");
        let (file, link) = (folder.join("file"), folder.join("link"));
        fs::write(&file, "old").unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        write(&link, b"new").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read(&file).unwrap(), b"new");
        fs::remove_dir_all(folder).unwrap();
    }

    /// A socket of this test's own stands for every device: were it replaced, only this folder would suffer.
    #[cfg(unix)]
    #[test]
    fn what_is_no_file_is_never_replaced() {
        use std::os::unix::fs::FileTypeExt;
        let folder = scratch("socket");
        let path = folder.join("socket");
        let _socket = std::os::unix::net::UnixListener::bind(&path).unwrap();
        let failure = write(&path, b"new").unwrap_err();
        assert!(failure.text.contains("not a file"), "{}", failure.text);
        assert!(fs::metadata(&path).unwrap().file_type().is_socket());
        assert!(
            super::super::folder::Folder::create(&path)
                .unwrap_err()
                .text
                .contains("is no folder")
        );
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn what_never_ends_is_not_read_for_ever() {
        let folder = scratch("long");
        let path = folder.join("long");
        File::create(&path).unwrap().set_len(BYTES_MAX + 1).unwrap();
        assert!(bytes(&path).unwrap_err().text.contains("too long"));
        File::create(&path).unwrap().set_len(TEXT_MAX as u64 + 1).unwrap();
        assert!(bytes(&path).is_ok());
        let long = short_text(&path, bytes(&path).unwrap());
        assert!(long.unwrap_err().text.contains("too long"));
        assert_eq!(mill_text(&path).unwrap_err().kind(), ErrorKind::FileTooLarge);
        fs::remove_dir_all(folder).unwrap();
    }
}
