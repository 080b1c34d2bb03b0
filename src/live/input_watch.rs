//! The watch over MIDI inputs: one that is unplugged falls silent without a word, so somebody has to look.
//!
//! A thread of its own looks at the list of inputs again and again, connects those that are wanted and tells the session
//! what came and went. The listing and the connecting are an adapter's ([`Inputs`]); what follows from a list is pure.

use std::collections::BTreeMap;
use std::io;
use std::thread;
use std::time::Duration;

use crossbeam_channel::{Receiver, RecvTimeoutError, Sender, TrySendError, bounded};

use super::devices::InputNews;

/// How often the list is looked at. A change counts when two looks agree, for lists flicker while something is plugged in.
const LOOK: Duration = Duration::from_millis(300);
/// News that waits for the session: more inputs than anybody plays at once.
const NEWS: usize = 64;

/// The inputs of a system, as the watch sees them.
pub(super) trait Inputs: Send + 'static {
    /// The names of all inputs there are that are wanted, told apart and without what a replug changes; `None` while
    /// nobody can tell.
    fn there(&mut self) -> Option<Vec<String>>;
    /// Connects an input; false where it refuses.
    fn connect(&mut self, name: &str) -> bool;
    /// Lets go of an input that is gone.
    fn release(&mut self, name: &str);
    /// Whether the input went and came back under its name between two looks; it is told once.
    fn blinked(&mut self, _name: &str) -> bool {
        false
    }
}

/// A running watch; it ends when this is dropped.
pub(super) struct InputWatch {
    news: Receiver<InputNews>,
    /// Never sent on: the thread sees it go.
    _until: Sender<()>,
}

impl InputWatch {
    /// Watches `inputs`, of which `open` are connected already.
    pub fn over(mut inputs: impl Inputs, open: Vec<String>) -> io::Result<Self> {
        let (give, news) = bounded(NEWS);
        let (until, ended) = bounded::<()>(0);
        let mut known = Known::new(open);
        let watch = move || {
            while ended.recv_timeout(LOOK) == Err(RecvTimeoutError::Timeout) {
                let Some(there) = inputs.there() else { continue };
                let is_back = |name: &&String| there.contains(name) && inputs.blinked(name);
                let back: Vec<String> = known.open.iter().filter(is_back).cloned().collect();
                let mut changes = known.look(there);
                for name in back {
                    changes.extend([InputNews::Gone(name.clone()), InputNews::Come(name)]);
                }
                for news in
                    changes.into_iter().filter_map(|change| carry_out(&mut inputs, &mut known, change))
                {
                    if let Err(TrySendError::Disconnected(_)) = give.try_send(news) {
                        return;
                    }
                }
            }
        };
        thread::Builder::new().name("midi watch".to_owned()).spawn(watch)?;
        Ok(Self { news, _until: until })
    }

    /// The oldest news not yet taken.
    pub fn news(&self) -> Option<InputNews> {
        self.news.try_recv().ok()
    }
}

/// Connects what came, lets go of what went. An input that refuses is tried again at the next look.
fn carry_out(inputs: &mut impl Inputs, known: &mut Known, change: InputNews) -> Option<InputNews> {
    match &change {
        InputNews::Gone(name) => inputs.release(name),
        InputNews::Come(name) if inputs.connect(name) => {}
        InputNews::Come(name) => {
            known.open.retain(|open| open != name);
            return None;
        }
    }
    Some(change)
}

/// Inputs of one name are told apart by their order: `Keys`, `Keys (2)`.
pub(super) fn told_apart(names: Vec<String>) -> Vec<String> {
    let mut count: BTreeMap<String, usize> = BTreeMap::new();
    let numbered = names.into_iter().map(|name| {
        let nth = count.entry(name.clone()).or_default();
        *nth += 1;
        if *nth == 1 { name } else { format!("{name} ({nth})") }
    });
    numbered.collect()
}

/// What is connected, and what the last look saw.
#[derive(Clone, Debug)]
struct Known {
    open: Vec<String>,
    last: Vec<String>,
}

impl Known {
    fn new(open: Vec<String>) -> Self {
        Self { last: open.clone(), open }
    }

    /// What two looks in a row agree has come or gone.
    fn look(&mut self, there: Vec<String>) -> Vec<InputNews> {
        let last = std::mem::replace(&mut self.last, there);
        let both = |name: &String| last.contains(name) && self.last.contains(name);
        let neither = |name: &String| !last.contains(name) && !self.last.contains(name);
        let gone: Vec<String> = self.open.iter().filter(|name| neither(name)).cloned().collect();
        let new = |name: &&String| both(name) && !self.open.contains(name);
        let come: Vec<String> = self.last.iter().filter(new).cloned().collect();
        self.open.retain(|name| !gone.contains(name));
        self.open.extend(come.iter().cloned());
        gone.into_iter().map(InputNews::Gone).chain(come.into_iter().map(InputNews::Come)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(text: &str) -> Vec<String> {
        text.split_whitespace().map(str::to_owned).collect()
    }

    fn looks(open: &str, lists: &[&str]) -> Vec<Vec<InputNews>> {
        let mut known = Known::new(names(open));
        lists.iter().map(|list| known.look(names(list))).collect()
    }

    #[test]
    fn an_input_is_gone_or_back_when_two_looks_agree() {
        let gone = vec![InputNews::Gone("guitar".to_owned())];
        let come = vec![InputNews::Come("guitar".to_owned())];
        let none = Vec::new;
        assert_eq!(
            looks("guitar keys", &["guitar keys", "keys", "keys", "keys", "guitar keys", "keys guitar"]),
            [none(), none(), gone, none(), none(), come]
        );
    }

    #[test]
    fn a_list_that_flickers_changes_nothing() {
        let flicker = looks("guitar", &["guitar keys", "", "guitar keys", "", "guitar"]);
        assert_eq!(flicker.concat(), []);
    }

    #[test]
    fn inputs_of_one_name_are_told_apart() {
        assert_eq!(told_apart(names("keys pad keys keys")), ["keys", "pad", "keys (2)", "keys (3)"]);
    }

    /// A list that grows and shrinks as told, one list a look; the last one stays.
    struct Listed {
        lists: Vec<&'static str>,
        refusals: usize,
        blinks: Vec<&'static str>,
        done: Sender<String>,
    }

    impl Inputs for Listed {
        fn there(&mut self) -> Option<Vec<String>> {
            let list = if self.lists.len() > 1 { self.lists.remove(0) } else { self.lists[0] };
            Some(names(list))
        }
        fn connect(&mut self, name: &str) -> bool {
            let connected = self.refusals == 0;
            self.refusals = self.refusals.saturating_sub(1);
            self.done.send(format!("connect {name}: {connected}")).expect("somebody listens");
            connected
        }
        fn release(&mut self, name: &str) {
            self.done.send(format!("release {name}")).expect("somebody listens");
        }
        fn blinked(&mut self, name: &str) -> bool {
            let blinked = self.blinks.contains(&name);
            self.blinks.retain(|blinks| *blinks != name);
            blinked
        }
    }

    #[test]
    fn what_went_is_let_go_of_and_what_comes_is_connected_even_at_the_second_try() {
        let (done, told) = crossbeam_channel::unbounded();
        let inputs = Listed { lists: vec!["a", "", "", "a"], refusals: 1, blinks: Vec::new(), done };
        let watch = InputWatch::over(inputs, names("a")).expect("a thread");
        assert_eq!(first(3, &told), ["release a", "connect a: false", "connect a: true"].map(str::to_owned));
        assert_eq!(first(2, &watch.news), gone_and_back());
    }

    #[test]
    fn what_went_and_came_between_two_looks_is_connected_at_once_and_told() {
        let (done, told) = crossbeam_channel::unbounded();
        let inputs = Listed { lists: vec!["a b"], refusals: 0, blinks: vec!["a"], done };
        let watch = InputWatch::over(inputs, names("a b")).expect("a thread");
        assert_eq!(first(2, &told), ["release a", "connect a: true"].map(str::to_owned));
        assert_eq!(first(2, &watch.news), gone_and_back());
    }

    fn first<T>(count: usize, told: &Receiver<T>) -> Vec<T> {
        (0..count).map(|_| told.recv_timeout(Duration::from_secs(20)).expect("told in time")).collect()
    }

    fn gone_and_back() -> [InputNews; 2] {
        [InputNews::Gone("a".to_owned()), InputNews::Come("a".to_owned())]
    }
}
