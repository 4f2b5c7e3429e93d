//! A column of verdicts.

use super::design::{Design, Withheld};
use super::kappa::{Agreement, cohen, fleiss};
use super::proportion::proportion;
use crate::record::study::{Disputed, Kappa, KappaKind, Own, Pair, Said, VerdictStudy, Word};
use std::collections::BTreeMap;

/// More words than this are remarks, no verdicts.
const MOST_WORDS: usize = 20;

/// How far the verdicts agree.
///
/// # Errors
/// There are so many different words that they are no verdicts.
pub fn verdicts(design: &Design<String>) -> Result<VerdictStudy, Withheld> {
    let words = words(design);
    if words.len() > MOST_WORDS {
        return Err(Withheld::new(
            format!("it holds {} different verdicts", words.len()),
            format!(
                "write one of a few words, at most {MOST_WORDS}, and remarks into a column with \
                 the title note"
            ),
        ));
    }
    let number: BTreeMap<&str, usize> = words
        .iter()
        .enumerate()
        .map(|(number, word)| (word.word.as_str(), number))
        .collect();
    // `numbered[coupon][examiner][look]`; every word is known.
    let numbered: Vec<Vec<Vec<usize>>> = design
        .cells
        .iter()
        .map(|coupon| {
            let looks = |cell: &Vec<String>| cell.iter().map(|w| number[w.as_str()]).collect();
            coupon.iter().map(looks).collect()
        })
        .collect();
    let count = |verdicts: &[usize]| {
        let mut counts = vec![0u32; words.len()];
        verdicts.iter().for_each(|word| counts[*word] += 1);
        counts
    };
    let all: Vec<Vec<u32>> = numbered.iter().map(|c| count(&c.concat())).collect();
    let pairs = pairs(design, &numbered, words.len());
    let overall = match &pairs[..] {
        // Two examiners with one look each: there is nothing but the pair.
        [pair] if design.looks == 1 => pair.kappa.clone(),
        _ => kappa(KappaKind::Fleiss, fleiss(&all)),
    };
    let own = match design.looks {
        1 => Vec::new(),
        _ => (0..design.examiners.len())
            .map(|e| {
                let looks: Vec<Vec<u32>> = numbered.iter().map(|c| count(&c[e])).collect();
                Own {
                    examiner: design.examiners[e].clone(),
                    agreed: proportion(unanimous(&looks), looks.len()),
                    kappa: kappa(KappaKind::Fleiss, fleiss(&looks)),
                }
            })
            .collect(),
    };
    Ok(VerdictStudy {
        agreed: proportion(unanimous(&all), all.len()),
        overall,
        pairs,
        own,
        disputed: disputed(design, &words),
        words,
    })
}

/// The words in use, the most frequent first.
fn words(design: &Design<String>) -> Vec<Word> {
    let mut counts: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for coupon in &design.cells {
        for (examiner, looks) in coupon.iter().enumerate() {
            for word in looks {
                let by = counts
                    .entry(word)
                    .or_insert_with(|| vec![0; design.examiners.len()]);
                by[examiner] += 1;
            }
        }
    }
    let mut words: Vec<Word> = counts
        .into_iter()
        .map(|(word, by_examiner)| Word {
            word: word.to_owned(),
            by_examiner,
        })
        .collect();
    words.sort_by_key(|word| std::cmp::Reverse(word.by_examiner.iter().sum::<usize>()));
    words
}

/// Coupons whose verdicts all fall into one category.
fn unanimous(counts: &[Vec<u32>]) -> usize {
    let one = |row: &&Vec<u32>| row.iter().filter(|count| **count > 0).count() == 1;
    counts.iter().filter(one).count()
}

/// Each two examiners, first look against first, second against second.
fn pairs(design: &Design<String>, numbered: &[Vec<Vec<usize>>], words: usize) -> Vec<Pair> {
    let mut pairs = Vec::new();
    for a in 0..design.examiners.len() {
        for b in a + 1..design.examiners.len() {
            let mut agreed = 0;
            let tables: Vec<Vec<Vec<u32>>> = numbered
                .iter()
                .map(|coupon| {
                    let mut table = vec![vec![0; words]; words];
                    for (one, other) in coupon[a].iter().zip(&coupon[b]) {
                        table[*one][*other] += 1;
                        agreed += usize::from(one == other);
                    }
                    table
                })
                .collect();
            pairs.push(Pair {
                examiners: [a, b].map(|e| design.examiners[e].clone()),
                agreed,
                of: numbered.len() * design.looks,
                kappa: kappa(KappaKind::Cohen, cohen(&tables)),
            });
        }
    }
    pairs
}

fn kappa(kind: KappaKind, agreement: Agreement) -> Kappa {
    let (value, interval, note) = match agreement {
        Agreement::Undefined => (
            None,
            None,
            Some(
                "kappa is undefined: all verdicts are the same word, so that chance alone would \
                 give full agreement; take coupons of both kinds",
            ),
        ),
        Agreement::Complete => (
            Some(1.0),
            None,
            Some(
                "full agreement: how sure that is only the share of coupons with its interval says",
            ),
        ),
        Agreement::Partial(value, None) => (
            Some(value),
            None,
            Some(
                "no interval: without a single one of the coupons all verdicts would be the same \
                 word; take more coupons of the rarer kind",
            ),
        ),
        Agreement::Partial(value, interval) => (Some(value), interval, None),
    };
    Kappa {
        kind,
        value,
        interval,
        note: note.map(str::to_owned),
    }
}

fn disputed(design: &Design<String>, words: &[Word]) -> Vec<Disputed> {
    let of = |(coupon, cells): (&String, &Vec<Vec<String>>)| {
        let said: Vec<Said> = words
            .iter()
            .filter_map(|Word { word, .. }| {
                let times = |looks: &Vec<String>| looks.iter().filter(|w| *w == word).count();
                let by: Vec<(String, usize)> = design
                    .examiners
                    .iter()
                    .zip(cells)
                    .map(|(examiner, looks)| (examiner.clone(), times(looks)))
                    .filter(|(_, times)| *times > 0)
                    .collect();
                (!by.is_empty()).then(|| Said {
                    word: word.clone(),
                    by,
                })
            })
            .collect();
        (said.len() > 1).then(|| Disputed {
            coupon: coupon.clone(),
            said,
        })
    };
    design
        .coupons
        .iter()
        .zip(&design.cells)
        .filter_map(of)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Coupons as words by examiner; several letters of one examiner are looks.
    fn study(rows: &[&[&str]]) -> VerdictStudy {
        let looks = |cell: &&str| cell.chars().map(String::from).collect::<Vec<_>>();
        let cells: Vec<Vec<Vec<String>>> = rows
            .iter()
            .map(|row| row.iter().map(looks).collect())
            .collect();
        verdicts(&Design {
            coupons: (1..=rows.len()).map(|i| format!("HR-0{i}")).collect(),
            examiners: ["A", "B", "C"][..rows[0].len()]
                .iter()
                .map(ToString::to_string)
                .collect(),
            looks: cells[0][0].len(),
            cells,
            left_out: Vec::new(),
        })
        .unwrap()
    }

    #[test]
    fn it_is_said_who_said_what_where_they_differ() {
        let found = study(&[
            &["ww", "ww", "ww"],
            &["wo", "oo", "oo"],
            &["oo", "oo", "oo"],
        ]);
        let [one] = &found.disputed[..] else {
            panic!("{found:?}")
        };
        assert_eq!(one.coupon, "HR-02");
        let by = |said: &Said| (said.word.clone(), said.by.clone());
        let name = |text: &str, times| (text.to_owned(), times);
        assert_eq!(
            one.said.iter().map(by).collect::<Vec<_>>(),
            [
                (
                    "o".to_owned(),
                    vec![name("A", 1), name("B", 2), name("C", 2)]
                ),
                ("w".to_owned(), vec![name("A", 1)]),
            ]
        );
        assert_eq!((found.agreed.count, found.agreed.of), (2, 3));
        assert_eq!(found.own[0].agreed.count, 2);
        assert_eq!(found.own[1].kappa.value, Some(1.0));
        let agreed: Vec<usize> = found.pairs.iter().map(|pair| pair.agreed).collect();
        assert_eq!(agreed, [5, 5, 6]);
        assert_eq!(found.overall.kind, KappaKind::Fleiss);
        assert_eq!(found.words[0].by_examiner, [3, 4, 4]);
    }

    #[test]
    fn two_examiners_with_one_look_are_cohen_s() {
        let found = study(&[&["w", "w"], &["w", "o"], &["o", "o"], &["o", "o"]]);
        assert_eq!(found.overall, found.pairs[0].kappa);
        // By hand: 0.75 observed, 0.5 · 0.25 + 0.5 · 0.75 = 0.5 by chance.
        assert!((found.overall.value.unwrap() - 0.5).abs() < 1e-12);
        assert!(found.own.is_empty());
    }

    #[test]
    fn all_the_same_has_no_kappa_and_says_why() {
        let found = study(&[&["w", "w"], &["w", "w"]]);
        assert_eq!((found.overall.value, found.overall.interval), (None, None));
        assert!(found.overall.note.unwrap().contains("undefined"));
        assert_eq!(found.agreed.count, 2);
    }
}
