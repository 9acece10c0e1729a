//! Files for the owner's eyes only: calls hold names and addresses of customers.
//!
//! On Unix a file is made with mode 0600 and a folder with 0700. Elsewhere the folder of the user's own data is what keeps others out.

use std::fs::{File, OpenOptions};
use std::io;
use std::path::Path;

/// A new file to append to; refuses to touch one that exists.
///
/// # Errors
/// When it exists or can't be made.
pub fn create_private(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.append(true).create_new(true);
    owner_only(&mut options);
    options.open(path)
}

/// A folder with every folder above it; those that are new are the owner's alone, those that are there stay as they are.
///
/// # Errors
/// When one can't be made.
pub fn create_private_folder(path: &Path) -> io::Result<()> {
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    owners_folder(&mut builder);
    builder.create(path)
}

#[cfg(unix)]
fn owner_only(options: &mut OpenOptions) {
    use std::os::unix::fs::OpenOptionsExt as _;
    options.mode(0o600);
}

#[cfg(unix)]
fn owners_folder(builder: &mut std::fs::DirBuilder) {
    use std::os::unix::fs::DirBuilderExt as _;
    builder.mode(0o700);
}

/// Takes a file away from everybody but its owner; says whether others could read or write it.
///
/// # Errors
/// When it can't be looked at or changed, as somebody else's file.
#[cfg(unix)]
pub fn tighten(path: &Path) -> io::Result<bool> {
    use std::os::unix::fs::PermissionsExt as _;
    let mut permissions = std::fs::metadata(path)?.permissions();
    let others = permissions.mode() & 0o077;
    if others == 0 {
        return Ok(false);
    }
    permissions.set_mode(permissions.mode() & 0o700);
    std::fs::set_permissions(path, permissions)?;
    Ok(true)
}

#[cfg(not(unix))]
fn owner_only(_: &mut OpenOptions) {}

#[cfg(not(unix))]
fn owners_folder(_: &mut std::fs::DirBuilder) {}

/// Takes a file away from everybody but its owner; there is nothing to take away here.
///
/// # Errors
/// None here.
#[cfg(not(unix))]
pub fn tighten(_: &Path) -> io::Result<bool> {
    Ok(false)
}
