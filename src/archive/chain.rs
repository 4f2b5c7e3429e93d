//! The hash chain: every entry's hash covers the one before it, so that no entry
//! can be changed, taken out or put in without the last hash becoming another.
//!
//! hash = SHA-256(previous hash, line feed, body), all as UTF-8 text, hashes in
//! lower-case hexadecimal; before the first entry stand 64 zeros. A body names
//! the hashes of its files, so the chain covers their bytes too.

use sha2::{Digest, Sha256};

/// One link as the catalogue keeps it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    /// Number of the entry, from 1.
    pub seq: u64,
    /// Hash of the entry before.
    pub previous: String,
    /// Hash of this one.
    pub hash: String,
    /// The entry as JSON text; exactly these bytes are hashed.
    pub body: String,
}

/// The end of the chain.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Head {
    /// Number of entries.
    pub seq: u64,
    /// Hash of the last one.
    pub hash: String,
}

impl Default for Head {
    /// Of an empty archive.
    fn default() -> Self {
        Self {
            seq: 0,
            hash: "0".repeat(64),
        }
    }
}

impl Head {
    /// The link that puts `body` behind this head.
    pub fn link(&self, body: String) -> Link {
        Link {
            seq: self.seq + 1,
            previous: self.hash.clone(),
            hash: hash(&self.hash, &body),
            body,
        }
    }
}

/// The hash of a body behind `previous`.
pub fn hash(previous: &str, body: &str) -> String {
    let mut hasher = Sha256::new();
    hasher.update(previous.as_bytes());
    hasher.update(b"\n");
    hasher.update(body.as_bytes());
    hex(&hasher.finalize())
}

/// SHA-256 of some bytes in lower-case hexadecimal.
pub fn sha256(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// What is wrong with a chain, an entry a sentence; and its head as it should
/// read if all is well.
pub fn check(links: &[Link]) -> (Head, Vec<(u64, String)>) {
    let mut head = Head::default();
    let mut faults = Vec::new();
    for link in links {
        if link.seq != head.seq + 1 {
            faults.push((
                link.seq,
                format!(
                    "entry {} follows entry {}: entries were taken out or put in",
                    link.seq, head.seq
                ),
            ));
        } else if link.previous != head.hash {
            faults.push((
                link.seq,
                format!(
                    "entry {} does not follow from the entry before it",
                    link.seq
                ),
            ));
        }
        if link.hash != hash(&link.previous, &link.body) {
            faults.push((
                link.seq,
                format!("entry {} was changed after it was written", link.seq),
            ));
        }
        head = Head {
            seq: link.seq,
            hash: link.hash.clone(),
        };
    }
    (head, faults)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chain(bodies: &[&str]) -> Vec<Link> {
        let mut head = Head::default();
        bodies
            .iter()
            .map(|body| {
                let link = head.link((*body).to_owned());
                head = Head {
                    seq: link.seq,
                    hash: link.hash.clone(),
                };
                link
            })
            .collect()
    }

    #[test]
    fn the_hash_is_what_sha256sum_says() {
        // { printf '%064d\n' 0; printf '{}'; } | sha256sum  (GNU coreutils)
        assert_eq!(
            chain(&["{}"])[0].hash,
            "5649d09ed68c17156095d175eef152856c5b1a81c117c409c1e00f096aa6838e"
        );
    }

    #[test]
    fn whatever_is_changed_taken_out_or_put_in_is_noticed() {
        let good = chain(&["a", "b", "c"]);
        let (head, faults) = check(&good);
        assert_eq!((head.seq, &head.hash), (3, &good[2].hash));
        assert!(faults.is_empty());

        let mut changed = good.clone();
        changed[1].body.push('!');
        assert_eq!(check(&changed).1[0].0, 2);
        // Its hash made to fit: now the next one does not follow.
        changed[1].hash = hash(&changed[1].previous, &changed[1].body);
        assert_eq!(check(&changed).1[0].0, 3);

        let mut taken = good.clone();
        taken.remove(1);
        assert!(!check(&taken).1.is_empty());
        let mut swapped = good.clone();
        swapped.swap(0, 1);
        assert!(!check(&swapped).1.is_empty());
        // Taken off the end: only the head tells, which is why it is written down.
        let (head, faults) = check(&good[..2]);
        assert!(faults.is_empty() && head.hash != good[2].hash);
    }
}
