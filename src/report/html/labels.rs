//! Labels among marks: each is moved until it overlaps nothing.

/// A rectangle of a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Its left edge.
    pub left: f64,
    /// Its upper edge.
    pub top: f64,
    /// Its right edge.
    pub right: f64,
    /// Its lower edge.
    pub bottom: f64,
}

impl Area {
    /// The area from a corner and a size.
    pub fn at(left: f64, top: f64, width: f64, height: f64) -> Self {
        Self { left, top, right: left + width, bottom: top + height }
    }

    /// Whether two areas have more than an edge in common.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    /// Whether `other` lies within.
    pub fn holds(&self, other: &Self) -> bool {
        self.left <= other.left
            && other.right <= self.right
            && self.top <= other.top
            && other.bottom <= self.bottom
    }

    /// The area moved.
    #[must_use]
    pub fn moved(self, right: f64, down: f64) -> Self {
        Self {
            left: self.left + right,
            right: self.right + right,
            top: self.top + down,
            bottom: self.bottom + down,
        }
    }
}

/// What is already taken of a picture.
#[derive(Clone, Debug)]
pub struct Taken {
    bounds: Area,
    areas: Vec<Area>,
}

impl Taken {
    /// Nothing is taken yet within these bounds.
    pub const fn nothing(bounds: Area) -> Self {
        Self { bounds, areas: Vec::new() }
    }

    /// Takes an area, whatever is there already.
    pub fn take(&mut self, area: Area) {
        self.areas.push(area);
    }

    /// Whether an area lies within the bounds and is free.
    pub fn is_free(&self, area: &Area) -> bool {
        self.bounds.holds(area) && !self.areas.iter().any(|taken| taken.overlaps(area))
    }

    /// Takes the first of several areas that is free; `None` if none of them is.
    pub fn place(&mut self, candidates: impl IntoIterator<Item = Area>) -> Option<Area> {
        let found = candidates.into_iter().find(|area| self.is_free(area))?;
        self.areas.push(found);
        Some(found)
    }
}

/// Where the label of a mark may stand: over it, under it, then further and further away in steps, also a little to either
/// side. `size` is that of the label.
pub fn around(mark: Area, size: (f64, f64), step: f64, farthest: f64) -> impl Iterator<Item = Area> {
    let (width, height) = size;
    let middle = f64::midpoint(mark.left, mark.right) - width / 2.0;
    let gap = 1.5;
    let steps = (farthest / step) as usize;
    (0..=steps).flat_map(move |index| {
        let away = gap + index as f64 * step;
        let over = Area::at(middle, mark.top - away - height, width, height);
        let under = Area::at(middle, mark.bottom + away, width, height);
        let aside = width / 2.0;
        [over, under]
            .into_iter()
            .flat_map(move |area| [area, area.moved(aside, 0.0), area.moved(-aside, 0.0)])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_stands_over_its_mark_and_under_it_where_that_is_taken() {
        let mut taken = Taken::nothing(Area::at(0.0, 0.0, 100.0, 100.0));
        let mark = Area::at(50.0, 50.0, 10.0, 8.0);
        taken.take(mark);
        let mut place = || taken.place(around(mark, (12.0, 10.0), 4.0, 40.0)).expect("room");
        assert!(place().bottom <= mark.top);
        let second = place();
        assert!(second.left >= 55.0 || second.right <= 55.0 || second.top >= mark.bottom);
    }

    #[test]
    fn a_label_without_room_is_not_placed() {
        let mut taken = Taken::nothing(Area::at(0.0, 0.0, 20.0, 8.0));
        let mark = Area::at(0.0, 0.0, 20.0, 8.0);
        taken.take(mark);
        assert_eq!(taken.place(around(mark, (5.0, 5.0), 4.0, 40.0)), None);
    }
}
