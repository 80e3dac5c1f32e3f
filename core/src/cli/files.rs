//! Files that the commands read, and the text that they print.

use std::path::{Path, PathBuf};

use halfsplit::machine::Machine;
use halfsplit::machine::family::Library;

/// A message that names the file.
pub(crate) type Failure = String;

/// A machine by its id or its file.
pub(crate) fn described(which: &str) -> Result<Machine, Failure> {
    let path = Path::new(which);
    if path.extension().is_none_or(|e| e != "json") {
        return Machine::shipped(which).map_err(|e| e.to_string());
    }
    let text = read(path)?;
    let folder = path.with_file_name("blocks");
    let Ok(entries) = std::fs::read_dir(&folder) else {
        return Machine::from_json(&text).map_err(|e| named(path, e));
    };
    let mut files: Vec<PathBuf> = entries.filter_map(|e| e.ok().map(|e| e.path())).collect();
    files.retain(|f| f.extension().is_some_and(|e| e == "json"));
    files.sort();
    let texts = files.iter().map(|f| read(f)).collect::<Result<Vec<_>, _>>()?;
    let names: Vec<String> = files.iter().map(|f| f.display().to_string()).collect();
    let library = Library::from_texts(names.iter().map(String::as_str).zip(texts.iter().map(String::as_str)))
        .map_err(|e| e.to_string())?;
    Machine::from_json_with(&library, which, &text).map_err(|e| named(path, e))
}

/// The text of a file.
pub(crate) fn read(path: &Path) -> Result<String, Failure> {
    std::fs::read_to_string(path).map_err(|e| named(path, e))
}

/// A message that names the file.
pub(crate) fn named(path: &Path, error: impl std::fmt::Display) -> Failure {
    format!("{}: {error}", path.display())
}

/// JSON on several lines.
pub(crate) fn pretty(value: &impl serde::Serialize) -> Result<String, Failure> {
    Ok(serde_json::to_string_pretty(value).map_err(|e| e.to_string())? + "\n")
}
