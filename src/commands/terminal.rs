//! What a terminal can show, by the usual environment variables and by its own size.

use std::io::{self, IsTerminal};

use ohmward::render::{Manner, PageLook};
use terminal_size::{Width, terminal_size_of};

/// Columns of text for people where nothing says how many there are.
const WIDTH: usize = 80;

/// Whether what is written goes to a terminal.
pub(super) fn is_terminal(to_file: bool) -> bool {
    !to_file && io::stdout().is_terminal()
}

/// How findings are told.
pub(super) fn manner(terminal: bool) -> Manner {
    if !terminal || wants_words() {
        return Manner::Told;
    }
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find(|name| is_set(name));
    let locale = locale.and_then(|name| std::env::var(name).ok()).unwrap_or_default().to_ascii_lowercase();
    let unicode = locale.contains("utf-8") || locale.contains("utf8");
    Manner::Drawn { color: !is_set("NO_COLOR"), unicode }
}

/// How pages are shown.
pub(super) fn page_look(terminal: bool) -> PageLook {
    let told = wants_words();
    PageLook { width: width(terminal), color: terminal && !told && !is_set("NO_COLOR"), told }
}

/// Columns: what `COLUMNS` says, else what the terminal has.
pub(super) fn width(terminal: bool) -> usize {
    if !terminal {
        return WIDTH;
    }
    let said = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
    let has = || terminal_size_of(io::stdout()).map(|(Width(columns), _)| usize::from(columns));
    said.or_else(has).filter(|columns| 0 < *columns).map_or(WIDTH, |columns: usize| columns.clamp(40, 120))
}

fn is_set(name: &str) -> bool {
    std::env::var_os(name).is_some_and(|value| !value.is_empty())
}

/// Words in place of drawings, for screen readers and simple terminals.
pub(super) fn wants_words() -> bool {
    std::env::var_os("NO_GRAPHICS").is_some_and(|value| !value.is_empty() && value != "0")
        || std::env::var_os("TERM").is_some_and(|term| term == "dumb")
}
