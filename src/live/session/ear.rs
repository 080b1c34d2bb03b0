//! The ear of a session: what was played, and the stretches in which it may have missed something.

use std::collections::BTreeSet;

use crate::live::clock::TakeClock;
use crate::live::devices::{InputNews, NotesIn};
use crate::live::foot::{Foot, FootSwitch};
use crate::live::keep::{KeeperEnd, ToKeeper};
use crate::live::plan::Gap;
use crate::live::wires::{Cue, ShortMessage, StampedMessage};
use crate::time::{NanoSpan, Nanos};

/// The longest that a note is on its way to us, where something was lost: a few cycles of a slow server.
const WAY: NanoSpan = NanoSpan::millis(100);

/// What happened to an input, told once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum InputChange {
    /// It is gone; from here on something may be missing.
    Gone(String),
    /// One that was gone is back.
    Back(String),
    /// One that was never there before.
    New(String),
}

/// What a take heard.
pub(super) struct HeardInAll {
    pub messages: Vec<StampedMessage>,
    /// Where something may be missing.
    pub gaps: Vec<Gap>,
    /// Messages that found no room.
    pub dropped: u64,
    /// How often a server passed the input over.
    pub passed_over: u64,
    /// The input that the last note came by, where that is known.
    pub used: Option<String>,
}

/// Everything heard so far.
pub(super) struct Ear {
    input: Box<dyn NotesIn>,
    keeper: KeeperEnd,
    foot: Foot,
    messages: Vec<StampedMessage>,
    gaps: Vec<Gap>,
    /// The inputs that are connected, and those that were.
    present: Vec<String>,
    gone: Vec<String>,
    /// The input that the last note came by.
    used: Option<String>,
    /// Since when something may be missing.
    deaf_since: Option<Nanos>,
    /// The take's time at the last tick.
    last_tick: Nanos,
    /// Notes that were struck and not let go of yet: channel and key.
    sounding: BTreeSet<(u8, u8)>,
    /// What was lost: with inputs that were replaced, and as the last tick knew.
    lost_before: Losses,
    lost: Losses,
}

/// What never reached the take.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Losses {
    /// Messages that found no room.
    dropped: u64,
    /// How often a server passed the input over.
    passed_over: u64,
}

impl Losses {
    fn of(input: &dyn NotesIn) -> Self {
        Self { dropped: input.dropped(), passed_over: input.passed_over() }
    }

    const fn and(self, other: Self) -> Self {
        Self { dropped: self.dropped + other.dropped, passed_over: self.passed_over + other.passed_over }
    }
}

impl Ear {
    pub fn new(input: Box<dyn NotesIn>, foot: Option<FootSwitch>, keeper: KeeperEnd) -> Self {
        Self {
            input,
            keeper,
            foot: Foot::new(foot),
            messages: Vec::new(),
            gaps: Vec::new(),
            present: Vec::new(),
            gone: Vec::new(),
            used: None,
            deaf_since: None,
            last_tick: Nanos::ZERO,
            sounding: BTreeSet::new(),
            lost_before: Losses::default(),
            lost: Losses::default(),
        }
    }

    /// Takes in what was played since the first click; what came before it is no part of the take. Says how many notes
    /// began at `bar_one` or later.
    pub fn listen(&mut self, clock: &TakeClock, now: Nanos, bar_one: Nanos) -> u32 {
        let mut struck = 0;
        while let Some(message) = self.input.next(clock, now) {
            self.foot.hear(&message);
            if message.at >= Nanos::ZERO {
                struck += u32::from(message.message.starts_note() && message.at >= bar_one);
                if message.message.starts_note() {
                    self.used = self.input.heard_last().or_else(|| self.only_one()).or(self.used.take());
                }
                self.keep(message);
            }
        }
        self.mark_lost(clock.take_time(now).max(Nanos::ZERO));
        struck
    }

    /// The input that is connected, if it is the only one.
    fn only_one(&self) -> Option<String> {
        if let [only] = self.present.as_slice() { Some(only.clone()) } else { None }
    }

    fn keep(&mut self, message: StampedMessage) {
        if let [status, key, _] = *message.message.bytes() {
            let note = (status & 0x0f, key);
            match status & 0xf0 {
                0x90 if message.message.starts_note() => _ = self.sounding.insert(note),
                0x80 | 0x90 => _ = self.sounding.remove(&note),
                _ => {}
            }
        }
        self.keeper.give(ToKeeper::Message(message));
        self.messages.push(message);
    }

    /// What came before an instant.
    pub fn before(&self, until: Nanos) -> Vec<StampedMessage> {
        self.messages.iter().filter(|message| message.at < until).copied().collect()
    }

    /// What the player's foot asks for by `at`.
    pub fn foot_cue(&mut self, at: Nanos) -> Option<Cue> {
        self.foot.cue(at)
    }

    /// Tells the keeper how far the take has gone on.
    pub fn tell(&mut self, reached: Nanos) {
        self.keeper.give(ToKeeper::Reached(reached));
    }

    /// Marks the time since the last tick where something was lost in it.
    fn mark_lost(&mut self, until: Nanos) {
        let from = std::mem::replace(&mut self.last_tick, until);
        let lost = self.lost_before.and(Losses::of(&*self.input));
        if lost != std::mem::replace(&mut self.lost, lost) {
            self.mark(Gap { from: (from - WAY).max(Nanos::ZERO), until });
        }
    }

    fn mark(&mut self, gap: Gap) {
        match self.gaps.last_mut() {
            Some(last) if last.until >= gap.from => last.until = last.until.max(gap.until),
            _ => self.gaps.push(gap),
        }
    }

    /// What happened to an input by `at`, if anything new did.
    pub fn change(&mut self, at: Nanos) -> Option<InputChange> {
        Some(match self.input.input_news()? {
            InputNews::Gone(name) => {
                self.present.retain(|present| *present != name);
                self.gone.push(name.clone());
                self.miss_from(at);
                InputChange::Gone(name)
            }
            InputNews::Come(name) => {
                let was_here = self.gone.contains(&name);
                self.gone.retain(|gone| *gone != name);
                self.present.push(name.clone());
                if self.gone.is_empty() {
                    self.hear_again(at);
                }
                if was_here { InputChange::Back(name) } else { InputChange::New(name) }
            }
        })
    }

    /// Whether the input hears by the server that the sound goes to.
    pub fn goes_with_sound(&self) -> bool {
        self.input.goes_with_sound()
    }

    /// Gives up the input: all that was connected is gone since `at`. Says whether anything was.
    pub fn replace(&mut self, input: Box<dyn NotesIn>, at: Nanos) -> (Box<dyn NotesIn>, bool) {
        self.lost_before = self.lost_before.and(Losses::of(&*self.input));
        let lost = !self.present.is_empty();
        self.gone.append(&mut self.present);
        if lost {
            self.miss_from(at);
        }
        (std::mem::replace(&mut self.input, input), lost)
    }

    /// From `at` on something may be missing. Where nobody is left to let go of the notes that sound, they end there.
    fn miss_from(&mut self, at: Nanos) {
        let at = at.max(Nanos::ZERO);
        self.deaf_since = self.deaf_since.or(Some(at));
        if self.present.is_empty() {
            self.let_go(at);
        }
    }

    /// Ends every note that sounds.
    fn let_go(&mut self, at: Nanos) {
        for (channel, key) in std::mem::take(&mut self.sounding) {
            if let Some(message) = ShortMessage::new(&[0x80 | channel, key, 0]) {
                self.keep(StampedMessage { at, message });
            }
        }
    }

    fn hear_again(&mut self, at: Nanos) {
        if let Some(from) = self.deaf_since.take() {
            self.mark(Gap { from, until: at.max(from) });
        }
    }

    /// What was heard. Notes that still sound `at` the end of the take end with it.
    pub fn close(mut self, at: Nanos) -> HeardInAll {
        self.let_go(at);
        self.hear_again(self.last_tick);
        let Self { messages, gaps, lost: Losses { dropped, passed_over }, used, .. } = self;
        HeardInAll { messages, gaps, dropped, passed_over, used }
    }
}
