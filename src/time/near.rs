//! Looking things up in order of time: the next one is nearly always where the last one was, or just behind it.

/// How many of `items`, which stand in order, fulfil `before`, as [`slice::partition_point`] says; `hint` is the last
/// answer, looked at first, and becomes this one.
pub fn partition_point_near<T>(items: &[T], hint: &mut usize, before: impl Fn(&T) -> bool) -> usize {
    for guess in [*hint, *hint + 1] {
        let starts = guess == 0 || items.get(guess - 1).is_some_and(&before);
        let ends = guess <= items.len() && items.get(guess).is_none_or(|item| !before(item));
        if starts && ends {
            *hint = guess;
            return guess;
        }
    }
    *hint = items.partition_point(before);
    *hint
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn any_hint_gives_the_answer_of_a_plain_search(
            mut items in prop::collection::vec(0u8..20, 0..30),
            wanted in prop::collection::vec(0u8..22, 1..20),
            hint in 0usize..40,
        ) {
            items.sort_unstable();
            let mut hint = hint;
            for wanted in wanted {
                let near = partition_point_near(&items, &mut hint, |&item| item <= wanted);
                prop_assert_eq!(near, items.partition_point(|&item| item <= wanted));
            }
        }
    }
}
