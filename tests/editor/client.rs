//! A client of the language server, over the pipes of the real binary.

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, ExitStatus, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// How long a test waits for what has to come.
const PATIENCE: Duration = Duration::from_secs(60);

/// A folder with files, and a server on it.
pub(super) struct Client {
    child: Child,
    stdin: Option<ChildStdin>,
    inbox: Receiver<(Instant, Vec<u8>)>,
    /// When the last message had arrived, before it was read.
    pub(super) arrived: Instant,
    folder: tempfile::TempDir,
    next: i64,
    /// The texts that are open, and their versions, as the client has them.
    pub(super) texts: BTreeMap<String, (i32, String)>,
    /// The last diagnostics of each file, with their version.
    pub(super) told: BTreeMap<String, (Option<i64>, Vec<Value>)>,
    /// Requests of the server's own.
    pub(super) asked: Vec<Value>,
}

impl Client {
    /// A server that was told these capabilities.
    pub(super) fn with(files: &[(&str, &str)], capabilities: &Value) -> Self {
        let mut client = Self::raw(files);
        let root = client.uri("");
        let params =
            json!({"processId": null, "rootUri": root.trim_end_matches('/'), "capabilities": capabilities});
        let result = client.request("initialize", &params).unwrap();
        assert_eq!(result["serverInfo"]["name"], "ohmward");
        client.notify("initialized", &json!({}));
        client
    }

    pub(super) fn new(files: &[(&str, &str)]) -> Self {
        Self::with(files, &json!({}))
    }

    /// A server that was told nothing yet.
    pub(super) fn raw(files: &[(&str, &str)]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        // Most samples use the library of parts.
        let parts = super::sample("parts.loom");
        for (path, text) in std::iter::once(&("parts.loom", &*parts)).chain(files) {
            let path = folder.path().join(path);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, text).unwrap();
        }
        // Another build of the same, for measurements.
        let binary = std::env::var("OHMWARD_BINARY");
        let mut child = Command::new(binary.as_deref().unwrap_or(env!("CARGO_BIN_EXE_ohmward")))
            .arg("editor")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let (sender, inbox) = channel();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        std::thread::spawn(move || {
            while let Some(message) = read(&mut out) {
                if sender.send(message).is_err() {
                    return;
                }
            }
        });
        let stdin = child.stdin.take();
        Self {
            child,
            stdin,
            inbox,
            arrived: Instant::now(),
            folder,
            next: 0,
            texts: BTreeMap::new(),
            told: BTreeMap::new(),
            asked: Vec::new(),
        }
    }

    pub(super) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(super) fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub(super) fn uri(&self, name: &str) -> String {
        format!("file://{}", self.folder.path().join(name).display())
    }

    pub(super) fn send_bytes(&mut self, bytes: &[u8]) {
        let stdin = self.stdin.as_mut().unwrap();
        // A server that has ended does not read on; the test sees that by other signs.
        let _ = stdin.write_all(bytes).and_then(|()| stdin.flush());
    }

    fn send(&mut self, message: &Value) {
        let text = message.to_string();
        self.send_bytes(format!("Content-Length: {}\r\n\r\n{text}", text.len()).as_bytes());
    }

    pub(super) fn notify(&mut self, method: &str, params: &Value) {
        self.send(&json!({"jsonrpc": "2.0", "method": method, "params": params}));
    }

    /// Asks, and waits for the answer: the result, or the error.
    pub(super) fn request(&mut self, method: &str, params: &Value) -> Result<Value, Value> {
        let id = self.ask(method, params);
        self.answer(&json!(id))
    }

    /// Asks without waiting; the id of the request.
    pub(super) fn ask(&mut self, method: &str, params: &Value) -> i64 {
        self.next += 1;
        self.send(&json!({"jsonrpc": "2.0", "id": self.next, "method": method, "params": params}));
        self.next
    }

    pub(super) fn answer(&mut self, id: &Value) -> Result<Value, Value> {
        let answers = |message: &Value| message.get("method").is_none() && message.get("id") == Some(id);
        let message = self.wait(answers);
        match message.get("error") {
            Some(error) => Err(error.clone()),
            None => Ok(message["result"].clone()),
        }
    }

    /// Waits for a message; what comes before it is noted.
    pub(super) fn wait(&mut self, wanted: impl Fn(&Value) -> bool) -> Value {
        let until = Instant::now() + PATIENCE;
        loop {
            let left = until.saturating_duration_since(Instant::now());
            let (arrived, bytes) = self.inbox.recv_timeout(left).expect("an answer of the server");
            let message: Value = serde_json::from_slice(&bytes).expect("a message is JSON");
            self.arrived = arrived;
            self.note(&message);
            if wanted(&message) {
                return message;
            }
        }
    }

    fn note(&mut self, message: &Value) {
        if message["method"] == "textDocument/publishDiagnostics" {
            let params = &message["params"];
            let rows = params["diagnostics"].as_array().unwrap().clone();
            let told = (params["version"].as_i64(), rows);
            self.told.insert(params["uri"].as_str().unwrap().to_owned(), told);
        } else if message.get("method").is_some() && message.get("id").is_some() {
            self.asked.push(message.clone());
        }
    }

    /// Opens a file with a text; its diagnostics.
    pub(super) fn open(&mut self, name: &str, text: &str) -> Vec<Value> {
        let uri = self.uri(name);
        self.texts.insert(name.to_owned(), (1, text.to_owned()));
        let item = json!({"uri": uri, "languageId": "loom", "version": 1, "text": text});
        self.notify("textDocument/didOpen", &json!({"textDocument": item}));
        self.diagnostics(name)
    }

    /// Opens a file as it is on the disk.
    pub(super) fn open_disk(&mut self, name: &str) -> Vec<Value> {
        let text = std::fs::read_to_string(self.path(name)).unwrap();
        self.open(name, &text)
    }

    /// The diagnostics of the newest version of an open file.
    pub(super) fn diagnostics(&mut self, name: &str) -> Vec<Value> {
        let (uri, version) = (self.uri(name), i64::from(self.texts[name].0));
        if self.told.get(&uri).is_none_or(|told| told.0 != Some(version)) {
            self.wait(|message| {
                let params = &message["params"];
                message["method"] == "textDocument/publishDiagnostics"
                    && params["uri"] == *uri
                    && params["version"] == version
            });
        }
        self.told[&uri].1.clone()
    }

    /// Replaces a part of an open file, from byte to byte; its diagnostics are waited for by the caller.
    pub(super) fn splice(&mut self, name: &str, from: usize, to: usize, with: &str) {
        let (version, text) = self.texts.get_mut(name).unwrap();
        *version += 1;
        let range = json!({"start": position(text, from), "end": position(text, to)});
        let change = json!({"range": range, "text": with});
        text.replace_range(from..to, with);
        let version = *version;
        let document = json!({"uri": self.uri(name), "version": version});
        self.notify("textDocument/didChange", &json!({"textDocument": document, "contentChanges": [change]}));
    }

    /// Replaces the first place where a text stands in an open file.
    pub(super) fn replace(&mut self, name: &str, old: &str, new: &str) -> Vec<Value> {
        let found = find(&self.texts[name].1, old).unwrap_or_else(|| panic!("no {old} in {name}"));
        self.splice(name, found[0], found[old.len()], new);
        self.diagnostics(name)
    }

    /// The parameters that point into the first place where a text stands, so many bytes after its start.
    pub(super) fn at(&self, name: &str, text: &str, further: usize) -> Value {
        let all = match self.texts.get(name) {
            Some((_, all)) => all.clone(),
            None => std::fs::read_to_string(self.path(name)).unwrap(),
        };
        let found = find(&all, text).unwrap_or_else(|| panic!("no {text} in {name}"));
        json!({"textDocument": {"uri": self.uri(name)}, "position": position(&all, found[further])})
    }

    /// Makes the edits of a workspace edit: in open texts, of which the server is told, else on the disk.
    pub(super) fn apply(&mut self, edit: &Value) {
        let changes = edit["changes"].as_object().expect("changes by file");
        for (uri, edits) in changes {
            let name = uri.strip_prefix(&self.uri("")).expect("a file of the folder").to_owned();
            if self.texts.contains_key(&name) {
                self.edit(&name, edits);
                continue;
            }
            let text = std::fs::read_to_string(self.path(&name)).unwrap();
            std::fs::write(self.path(&name), edited(&text, edits)).unwrap();
        }
    }

    /// Makes some edits in an open text, and tells the server.
    pub(super) fn edit(&mut self, name: &str, edits: &Value) {
        for (from, to, with) in in_bytes(self.text(name), edits) {
            self.splice(name, from, to, &with);
        }
    }

    /// Closes a file.
    pub(super) fn shut(&mut self, name: &str) {
        let document = json!({"textDocument": {"uri": self.uri(name)}});
        self.texts.remove(name);
        self.notify("textDocument/didClose", &document);
    }

    /// What was told last of a file.
    pub(super) fn rows(&self, name: &str) -> Vec<Value> {
        self.told[&self.uri(name)].1.clone()
    }

    /// The text that a range of an open file covers.
    pub(super) fn under(&self, name: &str, range: &Value) -> &str {
        let text = self.text(name);
        &text[offset(text, &range["start"])..offset(text, &range["end"])]
    }

    /// The text of an open file.
    pub(super) fn text(&self, name: &str) -> &str {
        &self.texts[name].1
    }

    /// Ends the conversation as an editor does.
    pub(super) fn end(mut self) -> ExitStatus {
        assert_eq!(self.request("shutdown", &Value::Null), Ok(Value::Null));
        self.notify("exit", &Value::Null);
        self.close()
    }

    /// Closes the pipe to the server, and waits for its end.
    pub(super) fn close(mut self) -> ExitStatus {
        self.stdin = None;
        let status = wait(&mut self.child);
        let mut errors = String::new();
        self.child.stderr.take().unwrap().read_to_string(&mut errors).unwrap();
        let told = if status.success() {
            ""
        } else {
            "note: the input ended before the editor said that it was done; this command is one that an editor starts\n"
        };
        assert_eq!(errors, told, "nothing else is printed");
        status
    }

    /// Ends without the pipe to the server being closed.
    pub(super) fn status(&mut self) -> ExitStatus {
        wait(&mut self.child)
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn wait(child: &mut Child) -> ExitStatus {
    let until = Instant::now() + PATIENCE;
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            return status;
        }
        assert!(Instant::now() < until, "the server does not end");
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// The next message, and when it had arrived.
fn read(out: &mut impl BufRead) -> Option<(Instant, Vec<u8>)> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if out.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim_end() {
            "" => break,
            head => {
                if let Some(value) = head.strip_prefix("Content-Length: ") {
                    length = value.parse().unwrap();
                }
            }
        }
    }
    let mut bytes = vec![0; length];
    out.read_exact(&mut bytes).ok()?;
    Some((Instant::now(), bytes))
}

/// A text with some edits made in it.
pub(super) fn edited(text: &str, edits: &Value) -> String {
    let mut text = text.to_owned();
    for (from, to, with) in in_bytes(&text, edits) {
        text.replace_range(from..to, &with);
    }
    text
}

/// Edits of a text from byte to byte, the last first, as none may move another.
fn in_bytes(text: &str, edits: &Value) -> Vec<(usize, usize, String)> {
    let row = |row: &Value| {
        let at = |key: &str| offset(text, &row["range"][key]);
        (at("start"), at("end"), row["newText"].as_str().unwrap().to_owned())
    };
    let mut rows: Vec<_> = edits.as_array().unwrap().iter().map(row).collect();
    rows.sort();
    assert!(rows.windows(2).all(|two| two[0].1 <= two[1].0), "edits that overlap: {edits}");
    rows.reverse();
    rows
}

/// The position of a byte, in UTF-16.
pub(super) fn position(text: &str, at: usize) -> Value {
    let before = &text[..at];
    let line = before.matches('\n').count();
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    json!({"line": line, "character": before[start..].encode_utf16().count()})
}

/// The byte of a position.
pub(super) fn offset(text: &str, position: &Value) -> usize {
    let (line, column) = (position["line"].as_u64().unwrap(), position["character"].as_u64().unwrap());
    let mut start = 0;
    for _ in 0..line {
        start += text[start..].find('\n').expect("a line") + 1;
    }
    let mut left = column;
    for (at, one) in text[start..].char_indices() {
        if left == 0 || one == '\n' {
            return start + at;
        }
        left = left.saturating_sub(one.len_utf16() as u64);
    }
    text.len()
}

/// Where a text stands first, whatever the blanks in it are: the place of each of its bytes, and of its end.
fn find(all: &str, text: &str) -> Option<Vec<usize>> {
    let bytes = all.as_bytes();
    (0..all.len()).find_map(|start| {
        let (mut at, mut places) = (start, Vec::new());
        for byte in text.bytes() {
            places.push(at);
            if bytes.get(at) != Some(&byte) {
                return None;
            }
            at += 1;
            while byte == b' ' && bytes.get(at) == Some(&b' ') {
                at += 1;
            }
        }
        places.push(at);
        Some(places)
    })
}

/// A text with single blanks.
pub(super) fn squeezed(text: &str) -> String {
    text.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}
