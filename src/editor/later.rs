//! Work beside typing: the whole judgement once typing pauses, and answers that need the study. One thread; of a design
//! only the newest text is judged.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant};

use lsp_server::{ErrorCode, RequestId, Response};
use serde_json::Value;

use crate::check::{Facts, Judgement, Options, check_again, facts};
use crate::design::{Design, Memory};

use super::Event;
use super::files::{Overlay, Texts, World};

/// How long typing has to rest.
const PAUSE: Duration = Duration::from_millis(150);
/// As on the command line: nested designs are read on a deep stack.
const STACK: usize = 16 << 20;

/// A design as it stood at one moment.
#[derive(Clone)]
pub(super) struct Moment {
    pub(super) path: String,
    pub(super) root: String,
    pub(super) texts: Texts,
    /// Counts changes; the same number means the same texts.
    pub(super) generation: u64,
}

impl Moment {
    pub(super) fn files<'w>(&'w self, world: &'w dyn World) -> Overlay<'w> {
        Overlay::new(world, &self.texts, &self.path, &self.root)
    }

    pub(super) fn judge(
        &self,
        world: &dyn World,
        without_study: bool,
        memory: &mut Memory,
    ) -> (Judgement, Option<Design>) {
        let options = Options { without_study, ..Options::on(world.today()) };
        let (files, mut judgement) = (self.files(world), None);
        let done = world.guarded(&mut || judgement = Some(check_again(&self.path, &files, &options, memory)));
        judgement.unwrap_or_else(|| (Judgement::failed(&self.path, done.err().unwrap_or_default()), None))
    }
}

/// What an answer is made from: the figures of a design, where it has any.
pub(super) type Answer = Box<dyn FnOnce(Option<&Facts>) -> Value + Send>;

pub(super) enum Job {
    /// Judge the whole of it once typing rests.
    Judge(Moment),
    /// Answer a request from the figures of a design.
    Answer(RequestId, Moment, Answer),
    /// Forget a design.
    Forget(String),
    /// An answer that nobody waits for any more.
    Cancel(RequestId),
}

/// Starts the thread; it ends when the returned sender is dropped.
pub(super) fn start(world: Arc<dyn World>, events: Sender<Event>) -> std::io::Result<Sender<Job>> {
    let (sender, jobs) = channel();
    let worker = Worker { world, events, due: BTreeMap::new(), known: BTreeMap::new() };
    std::thread::Builder::new().name("later".into()).stack_size(STACK).spawn(move || worker.run(&jobs))?;
    Ok(sender)
}

/// What is kept of a design between jobs.
#[derive(Default)]
struct Known {
    memory: Memory,
    facts: Option<(u64, Option<Facts>)>,
}

struct Worker {
    world: Arc<dyn World>,
    events: Sender<Event>,
    due: BTreeMap<String, (Instant, Moment)>,
    known: BTreeMap<String, Known>,
}

impl Worker {
    fn run(mut self, jobs: &Receiver<Job>) {
        let mut waiting = Vec::new();
        loop {
            let next = self.due.values().map(|row| row.0).min();
            let job = match next {
                _ if !waiting.is_empty() => jobs.try_recv().map_err(|_| RecvTimeoutError::Timeout),
                Some(next) => jobs.recv_timeout(next.saturating_duration_since(Instant::now())),
                None => jobs.recv().map_err(|_| RecvTimeoutError::Disconnected),
            };
            match job {
                Ok(Job::Judge(moment)) => {
                    self.due.insert(moment.path.clone(), (Instant::now() + PAUSE, moment));
                }
                Ok(Job::Answer(id, moment, answer)) => waiting.push((id, moment, answer)),
                Ok(Job::Forget(path)) => {
                    self.due.remove(&path);
                    self.known.remove(&path);
                }
                Ok(Job::Cancel(id)) => {
                    if let Some(at) = waiting.iter().position(|row| row.0 == id) {
                        drop(waiting.remove(at));
                        self.answer(Response::new_err(
                            id,
                            ErrorCode::RequestCanceled as i32,
                            "canceled".into(),
                        ));
                    }
                }
                Err(RecvTimeoutError::Disconnected) => return,
                // Everything that came has been seen, so what is newest is known.
                Err(RecvTimeoutError::Timeout) if !waiting.is_empty() => {
                    let (id, moment, answer) = waiting.remove(0);
                    self.answered(id, &moment, answer);
                }
                Err(RecvTimeoutError::Timeout) => self.judge_due(),
            }
        }
    }

    fn judge_due(&mut self) {
        let now = Instant::now();
        let Some(path) = self.due.iter().find(|row| row.1.0 <= now).map(|row| row.0.clone()) else { return };
        let Some((_, moment)) = self.due.remove(&path) else { return };
        let known = self.known.entry(path).or_default();
        let judgement = moment.judge(&*self.world, false, &mut known.memory);
        drop(self.events.send(Event::Judged(moment, Box::new(judgement))));
    }

    fn answered(&mut self, id: RequestId, moment: &Moment, answer: Answer) {
        let known = self.known.entry(moment.path.clone()).or_default();
        if known.facts.as_ref().is_none_or(|row| row.0 != moment.generation) {
            let (files, memory, mut found) = (moment.files(&*self.world), &mut known.memory, None);
            let done = self.world.guarded(&mut || found = facts(&moment.path, &files, memory));
            known.facts = Some((moment.generation, found.filter(|_| done.is_ok())));
        }
        let facts = known.facts.as_ref().and_then(|row| row.1.as_ref());
        let (mut answer, mut value) = (Some(answer), Value::Null);
        let done = self.world.guarded(&mut || {
            if let Some(answer) = answer.take() {
                value = answer(facts);
            }
        });
        self.answer(match done {
            Ok(()) => Response::new_ok(id, value),
            Err(why) => Response::new_err(id, ErrorCode::InternalError as i32, why),
        });
    }

    fn answer(&self, response: Response) {
        drop(self.events.send(Event::Answered(response)));
    }
}
