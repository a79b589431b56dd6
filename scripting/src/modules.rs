//! Where `import` looks: below the script's own folder, then in the embedded library. Nowhere else.

use std::io::Write as _;
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use rhai::{Engine, EvalAltResult, Module, ModuleResolver, Position, Scope, Shared};

use crate::api::fault::Fault;
use crate::diagnostic::source::Sources;

/// The library: name and text of every file of `scripts/modules`.
pub const LIBRARY: &[(&str, &str)] = &[("margins.rhai", include_str!("../../scripts/modules/margins.rhai"))];

/// A module may be this large, bytes.
const FILE_SIZE: u64 = 1 << 20;

/// Resolves imports inside of a folder.
pub struct Jail {
    folder: Option<PathBuf>,
    sources: Arc<Sources>,
    open: Mutex<Vec<String>>,
}

impl Jail {
    /// Imports come from below `folder` and from the library; what was read is kept in `sources`.
    pub fn new(folder: Option<PathBuf>, sources: Arc<Sources>) -> Self {
        Self { folder, sources, open: Mutex::default() }
    }

    /// The text of a module and the name it goes by in messages.
    fn find(&self, path: &str) -> Result<(String, String), Fault> {
        let file = if Path::new(path).extension().is_some_and(|end| end == "rhai") {
            path.to_owned()
        } else {
            format!("{path}.rhai")
        };
        if let Some(folder) = &self.folder
            && let Some(text) = read_below(folder, &file)?
        {
            return Ok((file, text));
        }
        let library = LIBRARY.iter().find(|(name, _)| *name == file);
        if let Some((name, text)) = library {
            Ok((format!("library/{name}"), (*text).to_owned()))
        } else {
            let names: Vec<&str> = LIBRARY.iter().map(|(name, _)| name.trim_end_matches(".rhai")).collect();
            let fault = Fault::new(format!("there is no module `{path}`"));
            Err(match crate::diagnostic::nearest::nearest(path, names) {
                Some(near) => fault.note(format!("did you mean `{near}`?")),
                None => fault.help("modules are looked for in the script's own folder, then in the library"),
            })
        }
    }
}

/// Reads a file below a folder; `None` when there is none.
///
/// # Errors
/// A path that leaves the folder, what is no file, is too large or cannot be read.
pub fn read_below(folder: &Path, file: &str) -> Result<Option<String>, Fault> {
    let relative = Path::new(file);
    let outside = || {
        Fault::new(format!("`{file}` is outside of the script's folder"))
            .help("a script reads only below its own folder")
    };
    if !relative.components().all(|part| matches!(part, Component::Normal(_))) {
        return Err(outside());
    }
    let path = folder.join(relative);
    let Ok(real) = path.canonicalize() else {
        return Ok(None);
    };
    // Links may point anywhere.
    let root = folder.canonicalize().map_err(|_| outside())?;
    if !real.starts_with(&root) {
        return Err(outside());
    }
    let about = std::fs::metadata(&real).map_err(|error| Fault::new(format!("cannot read `{file}`: {error}")))?;
    if !about.is_file() {
        return Err(Fault::new(format!("`{file}` is not a file")));
    }
    if about.len() > FILE_SIZE {
        return Err(Fault::new(format!("`{file}` is larger than 1 MiB")));
    }
    match std::fs::read_to_string(&real) {
        Ok(text) => Ok(Some(text)),
        Err(error) => Err(Fault::new(format!("cannot read `{file}`: {error}"))),
    }
}

/// Writes a file below a folder, whole or not at all; folders on the way are made.
///
/// # Errors
/// A path that leaves the folder, or what the file system says.
pub fn write_below(folder: &Path, file: &str, bytes: &[u8]) -> Result<PathBuf, Fault> {
    let relative = Path::new(file);
    let outside = || Fault::new(format!("`{file}` is outside of the folder for results"));
    let inside = relative.components().all(|part| matches!(part, Component::Normal(_)));
    if !inside || relative.file_name().is_none() {
        return Err(outside().help("write a name, or folder/name"));
    }
    let failed = |error: std::io::Error| Fault::new(format!("cannot write `{file}`: {error}"));
    let path = folder.join(relative);
    let parent = path.parent().unwrap_or(folder);
    std::fs::create_dir_all(parent).map_err(failed)?;
    // Links may point anywhere.
    let root = folder.canonicalize().map_err(failed)?;
    if !parent.canonicalize().map_err(failed)?.starts_with(&root) {
        return Err(outside());
    }
    let mut temporary = temporary_file(parent).map_err(failed)?;
    temporary.write_all(bytes).and_then(|()| temporary.as_file().sync_all()).map_err(failed)?;
    temporary.persist(&path).map_err(|error| failed(error.error))?;
    Ok(path)
}

/// A temporary file that will have the rights of any new file, and not those of a secret.
fn temporary_file(folder: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // The user's mask takes its share off.
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

impl ModuleResolver for Jail {
    fn resolve(
        &self,
        engine: &Engine,
        _source: Option<&str>,
        path: &str,
        position: Position,
    ) -> Result<Shared<Module>, Box<EvalAltResult>> {
        let placed = |fault: Fault| {
            let mut error = fault.into_error();
            error.set_position(position);
            error
        };
        let (name, text) = self.find(path).map_err(placed)?;
        {
            let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
            if open.contains(&name) {
                let chain: Vec<&str> = open.iter().map(String::as_str).chain([name.as_str()]).collect();
                let what = format!("modules import each other in a circle: {}", chain.join(" → "));
                return Err(placed(Fault::new(what)));
            }
            open.push(name.clone());
        }
        let made = self.build(engine, &name, &text, position);
        self.open.lock().unwrap_or_else(PoisonError::into_inner).pop();
        made
    }
}

impl Jail {
    fn build(
        &self,
        engine: &Engine,
        name: &str,
        text: &str,
        position: Position,
    ) -> Result<Shared<Module>, Box<EvalAltResult>> {
        self.sources.add(name, text);
        let wrapped =
            |error: Box<EvalAltResult>| Box::new(EvalAltResult::ErrorInModule(name.to_owned(), error, position));
        let mut ast = engine.compile(text).map_err(|error| wrapped(Box::new(error.into())))?;
        ast.set_source(name);
        self.sources.add_calls(name, &ast);
        let module = Module::eval_ast_as_new(Scope::new(), &ast, engine).map_err(wrapped)?;
        Ok(module.into())
    }
}
