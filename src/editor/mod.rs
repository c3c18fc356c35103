//! The language server: keeps the texts that are open in an editor, and tells of them what the library finds. It computes
//! nothing of its own; it converts places and figures into the protocol's words, and back.

mod actions;
mod completion;
mod diagnose;
mod files;
mod hover;
mod kept;
mod later;
mod layout;
mod lines;
mod navigate;
mod rename;
mod server;
mod symbols;
mod text;
mod tried;
mod wire;

use std::io::{BufRead, Write};
use std::sync::Arc;
use std::sync::mpsc::{channel, sync_channel};
use std::time::Duration;

use lsp_server::{Message, Response};
use serde_json::Value;

use crate::check::Judgement;
use crate::design::Design;

pub use files::World;

/// How long the end waits for the client to take what was written.
const LAST_WRITES: Duration = Duration::from_secs(2);

/// How a conversation ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// The client asked for it, in the right order.
    Asked,
    /// The client went away, or said `exit` without `shutdown`.
    Unasked,
}

/// What the server waits for.
enum Event {
    /// The client said something.
    Client(Message),
    /// The client said something that is no message; the answer.
    Unreadable(Value),
    /// The client says nothing more, or hears nothing more.
    Gone,
    /// A whole judgement, made beside typing.
    Judged(later::Moment, Box<(Judgement, Option<Design>)>),
    /// An answer, made beside typing.
    Answered(Response),
}

/// Serves one client until it goes.
///
/// # Errors
/// When threads cannot be started.
pub fn serve(
    world: Arc<dyn World>,
    mut input: impl BufRead + Send + 'static,
    mut output: impl Write + Send + 'static,
) -> std::io::Result<Ending> {
    let (events, inbox) = channel();
    let (outbox, outgoing) = channel::<wire::Outgoing>();
    let reader = events.clone();
    std::thread::Builder::new().name("reader".into()).spawn(move || {
        loop {
            let event = match wire::read(&mut input) {
                wire::Incoming::Message(message) => Event::Client(message),
                wire::Incoming::Unreadable(answer) => Event::Unreadable(answer),
                wire::Incoming::End => Event::Gone,
            };
            let last = matches!(event, Event::Gone);
            if reader.send(event).is_err() || last {
                return;
            }
        }
    })?;
    let (written, all_written) = sync_channel(1);
    let writer = events.clone();
    std::thread::Builder::new().name("writer".into()).spawn(move || {
        let mut lost = false;
        for message in outgoing {
            if !lost && wire::write(&message, &mut output).is_err() {
                lost = true;
                drop(writer.send(Event::Gone));
            }
        }
        let _ = written.send(());
    })?;
    let jobs = later::start(world.clone(), events)?;
    let ending = server::Server::new(world, outbox, jobs).run(&inbox);
    // A client that has stopped reading must not hold the end up.
    let _ = all_written.recv_timeout(LAST_WRITES);
    Ok(ending)
}
