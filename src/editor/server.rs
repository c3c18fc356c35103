//! The conversation: what is open, what is asked, and what is told unasked.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender};
use std::time::{Duration, Instant};

use lsp_server::{ErrorCode, Message, Notification, Request, RequestId, Response};
use lsp_types::{
    ClientCapabilities, CodeActionKind, CodeActionOptions, CodeActionProviderCapability, CompletionOptions,
    Diagnostic, DidChangeTextDocumentParams, DidChangeWorkspaceFoldersParams, DidCloseTextDocumentParams,
    DidOpenTextDocumentParams, FoldingRangeProviderCapability, HoverProviderCapability, InitializeParams,
    InitializeResult, LogMessageParams, MessageType, OneOf, Position, RenameOptions, SaveOptions,
    ServerCapabilities, ServerInfo, ShowMessageParams, TextDocumentSyncCapability, TextDocumentSyncKind,
    TextDocumentSyncOptions, TextDocumentSyncSaveOptions, Uri, WorkDoneProgressOptions, WorkspaceFolder,
    WorkspaceFoldersServerCapabilities, WorkspaceServerCapabilities,
};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use crate::check::Judgement;
use crate::design::{Design, Memory, Outline, outline};
use crate::text::{FileId, Files};

use super::diagnose::{Judged, each_once, judged};
use super::files::{Overlay, Texts, World, path, uri};
use super::kept::{Kept, is_broken};
use super::later::{Answer, Job, Moment};
use super::text::{Encoding, Text};
use super::wire::Outgoing;
use super::{Ending, Event, actions, completion, hover, layout, navigate, rename, symbols};

/// Up to so many elements a design is judged whole at once: its study is faster than an eye sees.
const AT_ONCE: usize = 300;
/// A design that takes longer than this is judged when no more changes of it wait.
const SLOW: Duration = Duration::from_millis(50);

/// Why a request has no result.
#[derive(Debug)]
pub(super) struct Refusal {
    code: ErrorCode,
    why: String,
}

impl Refusal {
    /// What is asked cannot be done.
    pub(super) fn new(why: impl Into<String>) -> Self {
        Self { code: ErrorCode::RequestFailed, why: why.into() }
    }
}

type Answered = Result<Value, Refusal>;

/// A file that is open.
#[derive(Debug)]
struct Open {
    uri: Uri,
    version: i32,
    slow: bool,
    memory: Memory,
    judged: Judged,
    /// What the last whole judgement found.
    kept: Kept,
    /// The change at which it was judged last.
    generation: u64,
}

/// What is found in a file, as it is told.
#[derive(Serialize)]
struct Told<'a> {
    jsonrpc: &'a str,
    method: &'a str,
    params: Published<'a>,
}

#[derive(Serialize)]
struct Published<'a> {
    uri: &'a Uri,
    diagnostics: &'a [Diagnostic],
    #[serde(skip_serializing_if = "Option::is_none")]
    version: Option<i32>,
}

/// One client's server.
pub(super) struct Server {
    pub(super) world: Arc<dyn World>,
    outbox: Sender<Outgoing>,
    jobs: Sender<Job>,
    pub(super) encoding: Encoding,
    client: ClientCapabilities,
    /// Folders that the client has open.
    roots: Vec<String>,
    initialized: bool,
    shut: bool,
    open: BTreeMap<String, Open>,
    pub(super) texts: Texts,
    generation: u64,
    /// Changed, and not yet judged.
    dirty: BTreeSet<String>,
    /// What the client was told last, by path.
    published: BTreeMap<String, (Option<i32>, Vec<Diagnostic>)>,
    outlines: BTreeMap<String, (u64, Arc<Outline>)>,
    memories: BTreeMap<String, Memory>,
}

impl Server {
    pub(super) fn new(world: Arc<dyn World>, outbox: Sender<Outgoing>, jobs: Sender<Job>) -> Self {
        Self {
            world,
            outbox,
            jobs,
            encoding: Encoding::Utf16,
            client: ClientCapabilities::default(),
            roots: Vec::new(),
            initialized: false,
            shut: false,
            open: BTreeMap::new(),
            texts: Texts::default(),
            generation: 0,
            dirty: BTreeSet::new(),
            published: BTreeMap::new(),
            outlines: BTreeMap::new(),
            memories: BTreeMap::new(),
        }
    }

    /// Serves until the client goes.
    pub(super) fn run(mut self, inbox: &Receiver<Event>) -> Ending {
        loop {
            // Slow designs wait until nothing else does.
            let event = match self.dirty.is_empty() {
                true => inbox.recv().ok(),
                false => match inbox.try_recv() {
                    Ok(event) => Some(event),
                    Err(_) => {
                        let world = self.world.clone();
                        let _ = world.guarded(&mut || self.judge_dirty());
                        continue;
                    }
                },
            };
            let Some(mut event) = event.map(Some) else { return Ending::Unasked };
            let (world, mut ending) = (self.world.clone(), None);
            // A fault of ours in one event must not end the conversation.
            let _ = world.guarded(&mut || ending = event.take().and_then(|event| self.happened(event)));
            if let Some(ending) = ending {
                return ending;
            }
        }
    }

    /// Handles one event; how the conversation ends, if that ends it.
    fn happened(&mut self, event: Event) -> Option<Ending> {
        match event {
            Event::Client(Message::Request(request)) => self.request(request),
            Event::Client(Message::Notification(row)) if row.method == "exit" => {
                return Some(if self.shut { Ending::Asked } else { Ending::Unasked });
            }
            Event::Client(Message::Notification(notification)) => self.notified(notification),
            Event::Client(Message::Response(_)) => {}
            Event::Unreadable(answer) => drop(self.outbox.send(Outgoing::Plain(answer))),
            Event::Judged(moment, judged) => self.judged_later(&moment, *judged),
            Event::Answered(response) => self.send(Message::Response(response)),
            Event::Gone => return Some(Ending::Unasked),
        }
        None
    }

    fn send(&self, message: Message) {
        drop(self.outbox.send(Outgoing::Message(message)));
    }

    /// Says something to the person at the editor.
    pub(super) fn say(&self, message: String) {
        self.tell("window/showMessage", ShowMessageParams { typ: MessageType::WARNING, message });
    }

    fn tell(&self, method: &str, params: impl Serialize) {
        self.send(Message::Notification(Notification {
            method: method.to_owned(),
            params: serde_json::to_value(params).unwrap_or_default(),
        }));
    }

    fn refuse(&self, id: RequestId, code: ErrorCode, why: String) {
        self.send(Message::Response(Response::new_err(id, code as i32, why)));
    }

    fn request(&mut self, request: Request) {
        let Request { id, method, params } = request;
        if method == "initialize" && !self.initialized {
            return self.initialize(id, params);
        }
        if !self.initialized {
            return self.refuse(id, ErrorCode::ServerNotInitialized, "`initialize` comes first".into());
        }
        if self.shut || method == "initialize" {
            let why = format!("`{method}` does not come here");
            return self.refuse(id, ErrorCode::InvalidRequest, why);
        }
        if method == "shutdown" {
            self.shut = true;
            return self.send(Message::Response(Response::new_ok(id, Value::Null)));
        }
        let (world, mut answered) = (self.world.clone(), None);
        let done = world.guarded(&mut || answered = self.dispatch(&id, &method, params.clone()));
        match (done, answered) {
            (Err(why), _) => self.refuse(id, ErrorCode::InternalError, why),
            (Ok(()), Some(Ok(value))) => self.send(Message::Response(Response::new_ok(id, value))),
            (Ok(()), Some(Err(refusal))) => self.refuse(id, refusal.code, refusal.why),
            // It is answered beside typing.
            (Ok(()), None) => {}
        }
    }

    /// The answer to a request, or `None` where it follows later.
    fn dispatch(&mut self, id: &RequestId, method: &str, params: Value) -> Option<Answered> {
        Some(match method {
            "textDocument/hover" => match given(params) {
                Ok(params) => return self.answer_later(id, |server| hover::hover(server, &params)),
                Err(refusal) => Err(refusal),
            },
            "textDocument/completion" => {
                given(params).and_then(|params| result(completion::complete(self, &params)))
            }
            "textDocument/definition" => {
                given(params).and_then(|params| result(navigate::definition(self, &params)))
            }
            "textDocument/references" => {
                given(params).and_then(|params| result(navigate::references(self, &params)))
            }
            "textDocument/prepareRename" => {
                given(params).and_then(|params| result(rename::prepare(self, &params)?))
            }
            "textDocument/rename" => given(params).and_then(|params| result(rename::rename(self, &params)?)),
            "textDocument/documentSymbol" => {
                given(params).and_then(|params| result(symbols::symbols(self, &params)))
            }
            "textDocument/foldingRange" => {
                given(params).and_then(|params| result(symbols::folds(self, &params)))
            }
            "textDocument/formatting" => {
                given(params).and_then(|params| result(layout::formatting(self, &params)))
            }
            "textDocument/codeAction" => {
                given(params).and_then(|params| result(actions::actions(self, &params)))
            }
            _ => {
                let why = format!("there is no request `{method}` here");
                Err(Refusal { code: ErrorCode::MethodNotFound, why })
            }
        })
    }

    fn answer_later(
        &mut self,
        id: &RequestId,
        make: impl FnOnce(&mut Self) -> Option<(String, Answer)>,
    ) -> Option<Answered> {
        let Some((path, answer)) = make(self) else { return Some(Ok(Value::Null)) };
        let moment = self.moment(&path);
        drop(self.jobs.send(Job::Answer(id.clone(), moment, answer)));
        None
    }

    fn initialize(&mut self, id: RequestId, params: Value) {
        let params: InitializeParams = match serde_json::from_value(params) {
            Ok(params) => params,
            Err(error) => return self.refuse(id, ErrorCode::InvalidParams, error.to_string()),
        };
        let general = params.capabilities.general.as_ref();
        self.encoding = Encoding::of(general.and_then(|general| general.position_encodings.as_deref()));
        #[expect(deprecated, reason = "clients that know no workspace folders send their one root so")]
        let root = params.root_uri.clone();
        let folders = params.workspace_folders.iter().flatten().map(|folder| folder.uri.clone());
        let mut roots: Vec<Uri> = folders.collect();
        if roots.is_empty() {
            roots.extend(root);
        }
        self.roots = roots.iter().map(|uri| path(&*self.world, uri)).collect();
        self.client = params.capabilities;
        self.initialized = true;
        let result = InitializeResult {
            capabilities: capabilities(self.encoding),
            server_info: Some(ServerInfo {
                name: "ohmward".into(),
                version: Some(env!("CARGO_PKG_VERSION").into()),
            }),
        };
        self.send(Message::Response(Response::new_ok(id, result)));
    }

    fn notified(&mut self, notification: Notification) {
        if !self.initialized || self.shut {
            return;
        }
        let Notification { method, params } = notification;
        match method.as_str() {
            "initialized" => self.watch(),
            "textDocument/didOpen" => self.take(&method, params, Self::opened),
            "textDocument/didChange" => self.take(&method, params, Self::changed),
            "textDocument/didClose" => self.take(&method, params, |server, params| server.closed(&params)),
            "textDocument/didSave" | "workspace/didChangeWatchedFiles" => self.disk_changed(),
            "workspace/didChangeWorkspaceFolders" => self.take(&method, params, Self::folders_changed),
            "$/cancelRequest" => {
                if let Some(id) = params.get("id").cloned().and_then(|id| serde_json::from_value(id).ok()) {
                    drop(self.jobs.send(Job::Cancel(id)));
                }
            }
            _ => {}
        }
    }

    /// Does what a notification is for. One that is not understood, as its address is none, is told to the client's log: there
    /// is nobody to answer.
    fn take<P: DeserializeOwned>(&mut self, method: &str, params: Value, then: impl FnOnce(&mut Self, P)) {
        match serde_json::from_value(params) {
            Ok(params) => then(self, params),
            Err(error) => {
                let message = format!("{method} is not understood: {error}");
                self.tell("window/logMessage", LogMessageParams { typ: MessageType::WARNING, message });
            }
        }
    }

    /// Asks to be told when files on the disk change, where the client can.
    fn watch(&self) {
        let workspace = self.client.workspace.as_ref();
        let watches = workspace.and_then(|workspace| workspace.did_change_watched_files.as_ref());
        if watches.and_then(|row| row.dynamic_registration) == Some(true) {
            let globs = json!([{"globPattern": "**/*.loom"}, {"globPattern": "**/*.toml"}]);
            let params = json!({"registrations": [{
                "id": "files", "method": "workspace/didChangeWatchedFiles", "registerOptions": {"watchers": globs},
            }]});
            self.send(Message::Request(Request {
                id: "watch".to_owned().into(),
                method: "client/registerCapability".into(),
                params,
            }));
        }
    }

    fn opened(&mut self, params: DidOpenTextDocumentParams) {
        let item = params.text_document;
        let path = path(&*self.world, &item.uri);
        let text = Arc::new(Text::new(item.text, self.encoding));
        let open = Open {
            uri: item.uri,
            version: item.version,
            slow: false,
            memory: Memory::default(),
            judged: Judged::default(),
            kept: Kept::default(),
            generation: 0,
        };
        self.open.insert(path.clone(), open);
        self.set_text(&path, Some(text));
        self.touched(&path);
    }

    fn changed(&mut self, params: DidChangeTextDocumentParams) {
        let path = path(&*self.world, &params.text_document.uri);
        // A change of what is not open is of nothing.
        let (Some(open), Some(text)) = (self.open.get_mut(&path), self.texts.get(&path)) else { return };
        open.version = params.text_document.version;
        let mut text = Text::clone(text);
        for change in params.content_changes {
            text = text.changed(change);
        }
        self.set_text(&path, Some(Arc::new(text)));
        self.touched(&path);
    }

    fn closed(&mut self, params: &DidCloseTextDocumentParams) {
        let path = path(&*self.world, &params.text_document.uri);
        let Some(open) = self.open.remove(&path) else { return };
        self.set_text(&path, None);
        self.dirty.remove(&path);
        drop(self.jobs.send(Job::Forget(path.clone())));
        let mut shown: BTreeSet<String> = open.judged.shown.into_keys().collect();
        shown.insert(path.clone());
        self.touched(&path);
        self.publish(shown);
    }

    fn set_text(&mut self, path: &str, text: Option<Arc<Text>>) {
        self.generation += 1;
        let texts = Arc::make_mut(&mut self.texts);
        match text {
            Some(text) => texts.insert(path.to_owned(), text),
            None => texts.remove(path),
        };
    }

    fn disk_changed(&mut self) {
        self.generation += 1;
        self.dirty.extend(self.open.keys().cloned());
        // Slow designs are judged once nothing else waits.
        if !self.open.values().any(|open| open.slow) {
            self.judge_dirty();
        }
    }

    /// Other folders are what `use` may reach.
    fn folders_changed(&mut self, params: DidChangeWorkspaceFoldersParams) {
        let folder = |folder: &WorkspaceFolder| path(&*self.world, &folder.uri);
        let gone: Vec<String> = params.event.removed.iter().map(folder).collect();
        let come: Vec<String> = params.event.added.iter().map(folder).collect();
        self.roots.retain(|root| !gone.contains(root));
        self.roots.extend(come);
        self.disk_changed();
    }

    /// Judges what a changed file has a part in: now, or, of slow designs, once nothing else waits.
    fn touched(&mut self, path: &str) {
        let uses = |row: &(&String, &Open)| {
            row.0 == path
                || row.1.judged.files.iter().any(|file| file == path)
                || self.may_now_find(row.1, path)
        };
        let touched: Vec<String> = self.open.iter().filter(uses).map(|row| row.0.clone()).collect();
        let slow = touched.iter().any(|path| self.open.get(path).is_some_and(|open| open.slow));
        self.dirty.extend(touched);
        if !slow {
            self.judge_dirty();
        }
    }

    /// Whether a design lacks a library that may be the file at this path.
    fn may_now_find(&self, open: &Open, path: &str) -> bool {
        let name = path.rsplit(['/', '\\']).next().unwrap_or(path);
        let lacks = |finding: &crate::findings::Finding| {
            finding.rule == "language.use" && finding.headline.contains(name)
        };
        open.judged.findings.iter().any(|row| lacks(&row.2))
    }

    fn judge_dirty(&mut self) {
        let mut shown = BTreeSet::new();
        for path in std::mem::take(&mut self.dirty) {
            shown.extend(self.judge(&path));
        }
        self.publish(shown);
    }

    /// Judges one open file; gives the files of which there may be something to tell.
    fn judge(&mut self, path: &str) -> BTreeSet<String> {
        // A book that is open speaks through the designs that name it.
        if path.ends_with(".toml") {
            return BTreeSet::from([path.to_owned()]);
        }
        let (moment, world) = (self.moment(path), self.world.clone());
        let Some(open) = self.open.get_mut(path) else { return BTreeSet::new() };
        let began = Instant::now();
        let small = 0 < open.judged.n_elements && open.judged.n_elements <= AT_ONCE;
        let (mut judgement, mut design) = moment.judge(&*world, !small, &mut open.memory);
        let mut whole = small && judgement.n_elements <= AT_ONCE;
        if !whole && judgement.n_elements <= AT_ONCE {
            whole = true;
            if 0 < judgement.n_elements {
                (judgement, design) = moment.judge(&*world, false, &mut open.memory);
            }
        }
        match whole && !is_broken(&judgement) {
            true => open.kept = Kept::of(&judgement, design.as_ref()),
            false => open.kept.add_to(&mut judgement, design.as_ref()),
        }
        open.slow = SLOW < began.elapsed();
        open.generation = moment.generation;
        let shown = self.keep(path, judgement);
        if !whole {
            drop(self.jobs.send(Job::Judge(moment)));
        }
        shown
    }

    fn judged_later(&mut self, moment: &Moment, (mut judgement, design): (Judgement, Option<Design>)) {
        let Some(open) = self.open.get_mut(&moment.path) else { return };
        // Of an older text nobody wants to hear.
        if open.generation != moment.generation {
            return;
        }
        match is_broken(&judgement) {
            true => open.kept.add_to(&mut judgement, design.as_ref()),
            false => open.kept = Kept::of(&judgement, design.as_ref()),
        }
        let shown = self.keep(&moment.path, judgement);
        self.publish(shown);
    }

    fn keep(&mut self, path: &str, judgement: Judgement) -> BTreeSet<String> {
        let uris = self.open.iter().map(|(path, open)| (path.clone(), open.uri.clone())).collect();
        let now = judged(judgement, self.encoding, uris);
        let mut shown: BTreeSet<String> = now.shown.keys().cloned().collect();
        shown.insert(path.to_owned());
        if let Some(open) = self.open.get_mut(path) {
            shown.extend(std::mem::replace(&mut open.judged, now).shown.into_keys());
        }
        shown
    }

    /// Tells what is found in some files, where the client does not know it yet.
    fn publish(&mut self, paths: BTreeSet<String>) {
        for path in paths {
            let found =
                each_once(self.open.values().filter_map(|open| open.judged.shown.get(&path)).flatten());
            let open = self.open.get(&path);
            let (version, uri) = match open {
                Some(open) => (Some(open.version), Some(open.uri.clone())),
                None => (None, uri(&path)),
            };
            let told = self.published.get(&path);
            let silent = open.is_none() && told.is_none() && found.is_empty();
            if silent || told.is_some_and(|told| told.0 == version && told.1 == found) {
                continue;
            }
            let Some(uri) = uri else { continue };
            // At every keystroke, so no tree of values is made of it.
            let told = Told {
                jsonrpc: "2.0",
                method: "textDocument/publishDiagnostics",
                params: Published { uri: &uri, diagnostics: &found, version },
            };
            drop(self.outbox.send(Outgoing::Text(serde_json::to_string(&told).unwrap_or_default())));
            if open.is_none() && found.is_empty() {
                self.published.remove(&path);
            } else {
                self.published.insert(path, (version, found));
            }
        }
    }

    /// A design as it stands now.
    pub(super) fn moment(&self, path: &str) -> Moment {
        Moment {
            path: path.to_owned(),
            root: self.root(path),
            texts: self.texts.clone(),
            generation: self.generation,
        }
    }

    /// The folder that a design's `use` may reach: the client's widest around it, or its own.
    fn root(&self, path: &str) -> String {
        let around = self.roots.iter().filter(|root| self.world.within(path, root));
        around.min_by_key(|root| root.len()).cloned().unwrap_or_else(|| self.world.folder(path))
    }

    pub(super) fn path(&self, uri: &Uri) -> String {
        path(&*self.world, uri)
    }

    /// The address of a file, as the client wrote it where it is open.
    pub(super) fn uri(&self, path: &str) -> Option<Uri> {
        self.open.get(path).map(|open| open.uri.clone()).or_else(|| uri(path))
    }

    pub(super) fn version(&self, path: &str) -> Option<i32> {
        self.open.get(path).map(|open| open.version)
    }

    pub(super) fn client(&self) -> &ClientCapabilities {
        &self.client
    }

    /// The names of a file and of the libraries that it uses.
    pub(super) fn outline(&mut self, path: &str) -> Arc<Outline> {
        if let Some((generation, outline)) = self.outlines.get(path)
            && *generation == self.generation
        {
            return outline.clone();
        }
        let moment = self.moment(path);
        let memory = self.memories.entry(path.to_owned()).or_default();
        let made = Arc::new(outline(path, &moment.files(&*self.world), Some(memory)));
        // What is not open may change on the disk without a word.
        if self.open.contains_key(path) {
            self.outlines.insert(path.to_owned(), (self.generation, made.clone()));
        } else {
            self.memories.remove(path);
        }
        made
    }

    /// A file of an outline with its lines.
    pub(super) fn text(&self, outline: &Outline, file: FileId) -> Arc<Text> {
        let source = outline.sources.get(file);
        match self.texts.get(source.path()) {
            Some(text) => text.clone(),
            None => Arc::new(Text::new(source.text().clone(), self.encoding)),
        }
    }

    /// The text of a file, open or not; empty where it cannot be read.
    pub(super) fn text_of(&self, path: &str) -> Arc<Text> {
        if let Some(text) = self.texts.get(path) {
            return text.clone();
        }
        let moment = self.moment(path);
        let files: Overlay<'_> = moment.files(&*self.world);
        let bytes = files.read(path).unwrap_or_default();
        Arc::new(Text::new(String::from_utf8_lossy(&bytes), self.encoding))
    }

    /// The file at an address, its outline, and the byte of a position in it.
    pub(super) fn place(&mut self, uri: &Uri, position: Position) -> (String, Arc<Outline>, u32) {
        let path = self.path(uri);
        let outline = self.outline(&path);
        let offset = self.text(&outline, FileId(0)).offset(position);
        (path, outline, u32::try_from(offset).unwrap_or(u32::MAX))
    }

    /// Elements of an open design.
    pub(super) fn n_elements(&self, path: &str) -> usize {
        self.open.get(path).map_or(0, |open| open.judged.n_elements)
    }

    /// What was found in open designs, with the path of the design and the path and range of the finding.
    pub(super) fn findings(
        &self,
    ) -> impl Iterator<Item = (&str, &(String, lsp_types::Range, crate::findings::Finding))> {
        self.open
            .iter()
            .flat_map(|(path, open)| open.judged.findings.iter().map(move |row| (path.as_str(), row)))
    }

    /// Files that may use a library: those that are open, and those in its folder and in the client's around it.
    pub(super) fn users(&self, library: &str) -> BTreeSet<String> {
        let mut users: BTreeSet<String> = self.open.keys().cloned().collect();
        users.extend(self.world.below(&self.root(library), "loom"));
        users
    }

    /// Files with an extension that a file may name: how it writes their paths, and the paths.
    pub(super) fn reachable(&self, from: &str, extension: &str) -> Vec<(String, String)> {
        let (root, folder) = (self.root(from), self.world.folder(from));
        let mut paths: BTreeSet<String> = self.world.below(&root, extension).into_iter().collect();
        let ends = |path: &&String| path.rsplit_once('.').is_some_and(|row| row.1 == extension);
        paths.extend(self.open.keys().filter(ends).filter(|path| self.world.within(path, &root)).cloned());
        paths.remove(from);
        let written = |path: String| Some((self.world.relative(&path, &folder)?, path));
        paths.into_iter().filter_map(written).collect()
    }
}

/// The parameters of a request.
fn given<P: DeserializeOwned>(params: Value) -> Result<P, Refusal> {
    serde_json::from_value(params)
        .map_err(|error| Refusal { code: ErrorCode::InvalidParams, why: error.to_string() })
}

fn result(value: impl Serialize) -> Answered {
    serde_json::to_value(value)
        .map_err(|error| Refusal { code: ErrorCode::InternalError, why: error.to_string() })
}

fn capabilities(encoding: Encoding) -> ServerCapabilities {
    ServerCapabilities {
        position_encoding: Some(encoding.kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            save: Some(TextDocumentSyncSaveOptions::SaveOptions(SaveOptions { include_text: Some(false) })),
            ..TextDocumentSyncOptions::default()
        })),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        completion_provider: Some(CompletionOptions {
            trigger_characters: Some([".", "$", "/", " ", "\""].map(String::from).into()),
            ..CompletionOptions::default()
        }),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        rename_provider: Some(OneOf::Right(RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: WorkDoneProgressOptions::default(),
        })),
        document_symbol_provider: Some(OneOf::Left(true)),
        document_formatting_provider: Some(OneOf::Left(true)),
        workspace: Some(WorkspaceServerCapabilities {
            workspace_folders: Some(WorkspaceFoldersServerCapabilities {
                supported: Some(true),
                change_notifications: Some(OneOf::Left(true)),
            }),
            file_operations: None,
        }),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        code_action_provider: Some(CodeActionProviderCapability::Options(CodeActionOptions {
            code_action_kinds: Some(vec![CodeActionKind::QUICKFIX]),
            ..CodeActionOptions::default()
        })),
        ..ServerCapabilities::default()
    }
}

impl Server {
    /// The design whose figures tell of a file: itself, or of a library an open design that uses it.
    pub(super) fn design_of(&self, path: &str, library: bool) -> String {
        let users = self.open.iter().filter(|row| row.1.judged.files.iter().skip(1).any(|file| file == path));
        match library {
            true => users.map(|row| row.0.clone()).next().unwrap_or_else(|| path.to_owned()),
            false => path.to_owned(),
        }
    }
}
