//! Keeping labels apart.

use crate::drawing::{Anchor, Frame, Label, Point};

/// Room already taken on a drawing.
#[derive(Debug, Default)]
pub(crate) struct Rooms {
    text_height: f64,
    taken: Vec<Frame>,
}

/// How many steps a label may be moved before it is left where it is.
const STEPS_MAX: u32 = 40;

impl Rooms {
    pub(crate) fn new(text_height: f64) -> Self {
        Self { text_height, taken: Vec::new() }
    }

    pub(crate) fn claim(&mut self, room: Frame) {
        self.taken.push(room);
    }

    pub(crate) fn is_free(&self, room: Frame) -> bool {
        !self.taken.iter().any(|other| other.overlaps(&room))
    }

    /// The first candidate that is free; if none is, the last one moved down until it is.
    pub(crate) fn place(
        &mut self,
        text: &str,
        candidates: impl IntoIterator<Item = (Point, Anchor)>,
    ) -> Label {
        let mut last = Label::new(Point::default(), Anchor::Start, text);
        for (at, anchor) in candidates {
            last = Label::new(at, anchor, text);
            if self.is_free(last.room(self.text_height)) {
                self.claim(last.room(self.text_height));
                return last;
            }
        }
        let step = self.text_height * 0.5;
        for _ in 0..STEPS_MAX {
            last.at.y -= step;
            if self.is_free(last.room(self.text_height)) {
                break;
            }
        }
        self.claim(last.room(self.text_height));
        last
    }
}

/// Moves values apart until neighbours are at least `gap` apart, each group about its own mean,
/// and gives them back in the order they came. Values that are not finite stay as they are.
pub(crate) fn spread(wanted: &[f64], gap: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.retain(|&i| wanted.get(i).is_some_and(|v| v.is_finite()));
    order.sort_by(|&a, &b| wanted.get(a).partial_cmp(&wanted.get(b)).unwrap_or_else(|| a.cmp(&b)));
    // Each group: sum of (wanted − place in the group), members. Its first place is the mean.
    let mut groups: Vec<(f64, Vec<usize>)> = Vec::new();
    for i in order {
        groups.push((wanted.get(i).copied().unwrap_or_default(), vec![i]));
        while let [.., (sum_a, a), (sum_b, b)] = groups.as_slice() {
            let (start_a, start_b) = (sum_a / a.len() as f64, sum_b / b.len() as f64);
            let reach = gap * a.len() as f64;
            if start_a + reach <= start_b {
                break;
            }
            let joined = (
                sum_a + sum_b - reach * b.len() as f64,
                a.iter().chain(b).copied().collect::<Vec<_>>(),
            );
            groups.truncate(groups.len() - 2);
            groups.push(joined);
        }
    }
    let mut out = wanted.to_vec();
    for (sum, members) in groups {
        let start = sum / members.len() as f64;
        for (n, i) in members.into_iter().enumerate() {
            if let Some(slot) = out.get_mut(i) {
                *slot = start + gap * n as f64;
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_that_are_apart_stay_and_others_move_about_their_mean() {
        assert_eq!(spread(&[10.0, 0.0, 20.0], 5.0), [10.0, 0.0, 20.0]);
        assert_eq!(spread(&[1.0, 1.0, 1.0], 2.0), [-1.0, 1.0, 3.0]);
        let moved = spread(&[0.0, 1.0, 1.5, 30.0], 4.0);
        assert!(moved.windows(2).all(|w| w[1] - w[0] >= 4.0 - 1e-9), "{moved:?}");
        assert_eq!(moved[3], 30.0);
    }

    #[test]
    fn what_is_not_a_number_does_no_harm() {
        let moved = spread(&[f64::NAN, 1.0, f64::INFINITY, 1.0], 1.0);
        assert!(moved[0].is_nan() && moved[2].is_infinite());
        assert_eq!((moved[1], moved[3]), (0.5, 1.5));
    }

    #[test]
    fn a_second_label_does_not_cover_the_first() {
        let mut rooms = Rooms::new(10.0);
        let at = [(Point::new(0.0, 0.0), Anchor::Start)];
        let first = rooms.place("ride", at);
        let second = rooms.place("ride", at);
        assert!(!first.room(10.0).overlaps(&second.room(10.0)));
    }
}
