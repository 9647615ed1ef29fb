//! One page, one script: a module of `static/` with all that it imports, as one file. A tablet on a weak signal asks
//! once instead of a dozen times, and what the modules have in common is compressed once.
//!
//! The modules keep to what is read here, a line for each: `import { a, b as c } from "./x.js";`, `import "../x.js";`,
//! `export { a, b } from "./x.js";` and `export` before what is declared. They make no circle, and none but the first
//! waits for anything before it stands.

use std::fmt::Write;

/// The script of that name; `text` gives the source of a file of `static/`. What the modules name at their top stays
/// in them. `None` when one of them is not there.
pub(super) fn linked(name: &str, text: impl Fn(&str) -> Option<String>) -> Option<String> {
    let mut order = Vec::new();
    sort(name, &text, &mut order)?;
    let (root, modules) = order.split_last()?;
    let mut script = String::new();
    for (name, source) in modules {
        let (body, exports) = inside(source);
        write!(
            script,
            "const {} = (() => {{\n{body}return {{ {} }};\n}})();\n",
            held(name),
            exports.join(", ")
        )
        .ok()?;
    }
    for line in root.1.lines() {
        script.push_str(&imported(line).unwrap_or_else(|| line.to_owned()));
        script.push('\n');
    }
    Some(script)
}

/// Puts what a module imports before it, each once.
fn sort(name: &str, text: &impl Fn(&str) -> Option<String>, order: &mut Vec<(String, String)>) -> Option<()> {
    if order.iter().any(|(known, _)| known == name) {
        return Some(());
    }
    let source = text(name)?;
    for import in source.lines().filter_map(Import::read) {
        sort(import.file, text, order)?;
    }
    order.push((name.to_owned(), source));
    Some(())
}

/// A line that takes something from another module.
struct Import<'a> {
    names: Option<&'a str>,
    file: &'a str,
    /// What is taken is given on.
    given_on: bool,
}

impl<'a> Import<'a> {
    fn read(line: &'a str) -> Option<Self> {
        let (what, from) = line.strip_suffix("\";")?.rsplit_once('"')?;
        let file = from.rsplit_once('/')?.1;
        if what == "import " {
            return Some(Import { names: None, file, given_on: false });
        }
        let names = what.strip_suffix("} from ")?;
        let import = |names, given_on| Import { names: Some(names), file, given_on };
        let taken = names.strip_prefix("import {").map(|names| import(names, false));
        taken.or_else(|| names.strip_prefix("export {").map(|names| import(names, true)))
    }
}

/// What a module gives, under the name of its file.
fn held(file: &str) -> String {
    format!("${}", file.trim_end_matches(".js"))
}

/// A line that imports, as one that takes the same from what stands above it.
fn imported(line: &str) -> Option<String> {
    let import = Import::read(line)?;
    let export = if import.given_on { "export " } else { "" };
    Some(import.names.map_or_else(String::new, |names| {
        format!("{export}const {{{}}} = {};", names.replace(" as ", ": "), held(import.file))
    }))
}

/// A module without its imports and exports, and the names that it gives.
fn inside(source: &str) -> (String, Vec<String>) {
    let (mut body, mut exports) = (String::new(), Vec::new());
    for line in source.lines() {
        let own = imported(line).unwrap_or_else(|| line.to_owned());
        let plain = own.strip_prefix("export ").inspect(|declared| exports.extend(declares(declared)));
        body.push_str(plain.unwrap_or(&own));
        body.push('\n');
    }
    (body, exports)
}

/// The names that a line declares.
fn declares(line: &str) -> Vec<String> {
    let names = line.strip_prefix("const {").and_then(|rest| rest.split_once('}'));
    if let Some((names, _)) = names {
        return names
            .split(',')
            .map(|name| name.rsplit(':').next().unwrap_or(name).trim().to_owned())
            .collect();
    }
    let word = |word: &&str| !matches!(*word, "const" | "let" | "class" | "async" | "function");
    let first = line.split([' ', '(', '=', ';']).find(word);
    first.map(str::to_owned).into_iter().collect()
}
