//! Who may stop a search, and what is known when it stops.

/// What the caller answers when a search reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Control {
    /// Carry on.
    Go,
    /// Stop: the caller's clock says so.
    OutOfTime,
    /// Stop: the person says so.
    Stop,
}

/// Why a search ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StoppedBy {
    /// Nothing better exists.
    Proof,
    /// The effort allowed is spent; the same input gives the same result.
    Effort,
    /// The caller's clock ran out.
    Seconds,
    /// The person stopped it.
    User,
}

impl StoppedBy {
    /// The one word shown and written: `proof`, `effort`, `seconds` or `user`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Proof => "proof",
            Self::Effort => "effort",
            Self::Seconds => "seconds",
            Self::User => "user",
        }
    }
}

/// How hard to search. Only whole numbers, so that a run repeats exactly on any machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Elementary moves of the search; one costs from one to a few microseconds.
    pub moves: u64,
    /// The most memory the search's own tables may take, in bytes.
    pub bytes: usize,
    /// Start of the chance sequence.
    pub seed: u64,
}

impl Effort {
    /// As many moves as asked for, 256 MB, and seed 1.
    #[must_use]
    pub const fn of(moves: u64) -> Self {
        Self { moves, bytes: 256 << 20, seed: 1 }
    }
}

/// How a search stands.
#[derive(Debug, Clone, Copy)]
pub struct Progress<'a> {
    /// Cost of the best order so far, in seconds.
    pub value: i64,
    /// Proven: no order costs less than this. Same unit.
    pub bound: i64,
    /// Moves spent.
    pub moves: u64,
    /// The best order so far, as positions in the list of tasks.
    pub order: &'a [usize],
}

impl Progress<'_> {
    /// How far the best order may be from the optimum, in parts per thousand of its cost.
    #[must_use]
    pub fn gap_per_mille(&self) -> u64 {
        let short = u64::try_from(self.value.saturating_sub(self.bound)).unwrap_or(0);
        short.saturating_mul(1000).div_ceil(u64::try_from(self.value).unwrap_or(0).max(1))
    }
}

/// Asked about every this many moves.
const ASK_EVERY: u64 = 2_000;

/// The account a search keeps: best order, bound, moves spent, and whether to go on.
pub(crate) struct Watch<'a> {
    pub(crate) effort: Effort,
    pub(crate) order: Vec<usize>,
    pub(crate) value: i64,
    pub(crate) bound: i64,
    pub(crate) moves: u64,
    asked: u64,
    /// Moves after which the present stage is to hand over.
    pub(crate) pause: u64,
    pub(crate) stopped: Option<StoppedBy>,
    ask: &'a mut dyn FnMut(&Progress<'_>) -> Control,
}

impl<'a> Watch<'a> {
    pub(crate) fn new(
        effort: Effort,
        order: Vec<usize>,
        value: i64,
        ask: &'a mut dyn FnMut(&Progress<'_>) -> Control,
    ) -> Self {
        let (moves, asked) = (0, 0);
        let mut watch =
            Self { effort, order, value, bound: 0, moves, asked, pause: 0, stopped: None, ask };
        watch.settle();
        watch
    }

    /// Counts moves; false when the whole search has to stop.
    pub(crate) fn spend(&mut self, moves: u64) -> bool {
        self.moves = self.moves.saturating_add(moves);
        if self.stopped.is_none() && self.moves - self.asked >= ASK_EVERY {
            self.asked = self.moves;
            let (value, bound, moves) = (self.value, self.bound, self.moves);
            let progress = Progress { value, bound, moves, order: &self.order };
            match (self.ask)(&progress) {
                Control::Go if self.moves >= self.effort.moves => {
                    self.stopped = Some(StoppedBy::Effort);
                }
                Control::Go => {}
                Control::OutOfTime => self.stopped = Some(StoppedBy::Seconds),
                Control::Stop => self.stopped = Some(StoppedBy::User),
            }
        }
        self.stopped.is_none()
    }

    /// Takes an order if it is better.
    pub(crate) fn offer(&mut self, value: i64, order: impl Iterator<Item = usize>) {
        if value < self.value {
            self.value = value;
            self.order = order.collect();
            self.settle();
        }
    }

    /// Takes a proven bound if it is higher.
    pub(crate) fn raise(&mut self, bound: i64) {
        self.bound = self.bound.max(bound.min(self.value));
        self.settle();
    }

    fn settle(&mut self) {
        if self.bound >= self.value {
            self.stopped = Some(StoppedBy::Proof);
        }
    }

    pub(crate) const fn over(&self) -> bool {
        self.stopped.is_some()
    }
}
