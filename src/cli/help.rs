//! What `--help` says of each command beyond its options.

pub(super) const REPEAT_ABOUT: &str = "\
Compare the records of several photographs of one coupon.

Take the coupon up, put it down, light it anew and photograph it again, five times or
more, and measure each photograph. Records of pictures taken without touching anything
agree too well. Says of every measurement how far the repeats scatter, against the
uncertainty stated for each.";

pub(super) const REPEAT_EXAMPLES: &str = "\
Example:
  toeline repeat evidence/HR-07-*.record.json --out HR-07.repeat.json";

pub(super) const SECTION_ABOUT: &str = "\
Measure a fillet weld in a photograph of an etched section.

Photograph the etched face straight from the front, sharp and without
reflections, both plates and the whole weld in the picture, and a steel rule or
a printed chequer strip lying level with the etched face. Turned or mirrored
pictures are fine. JPEG, PNG and TIFF are read.

For every photograph three files are written to the output folder:
  NAME.record.json     every number with its uncertainty, or why there is none
  NAME.annotated.jpg   the photograph with what was found drawn into it
  NAME.report.html     the report, one file, to be read or printed
Results of an earlier run under the same name are replaced; a photograph never is.
A photograph that cannot be measured leaves a record that says why and what to do
(exit status 3). A path where there is no file leaves nothing (exit status 1).";

pub(super) const SECTION_EXAMPLES: &str = "\
Examples:
  A millimetre rule lies beside the coupon, plates of 10 and 12 mm:
    toeline section HR-07.jpg --scale rule-mm --thickness 10,12 --out evidence
  A chequer strip with squares of 5 mm, compared with ISO 5817 level C:
    toeline section HR-08.png --scale chequer:5 --limits iso5817-c --out evidence
  A microscope picture, calibrated with a stage micrometer:
    toeline section HR-09.tif --scale declared:39.68 --out evidence";

pub(super) const FRACTURE_ABOUT: &str = "\
Measure the face of a broken fillet weld.

Photograph the torn face straight from the front, the coupon laid open and whole in
the picture, in soft light from two sides, with a steel rule or a printed chequer
strip lying at the height of the face. Any rotation is fine. Toeline finds the face,
lays it straight with the root side below, and measures where the root was not
reached, where a pass did not fuse, and which pores and inclusions there are.
Cracks are not searched for: look yourself and declare them (--cracks).

For every photograph three files are written to the output folder:
  NAME.record.json     every number with its uncertainty, or why there is none
  NAME.annotated.jpg   the photograph with what was found drawn into it
  NAME.report.html     the report, one file, to be read or printed
Break coupons in a guarded press; fragments fly and edges are sharp.";

pub(super) const FRACTURE_EXAMPLES: &str = "\
Examples:
  A millimetre rule lies beside the coupon, 25 mm at each end do not count:
    toeline fracture HR-21.jpg --scale rule-mm --discard 25 --out evidence
  The coupon is 150 mm long, compared with the break test of AWS D1.1:
    toeline fracture HR-21.jpg --scale length:150 --limits aws-d1.1-break-mm
  The coupon bent flat and did not break; the photograph is kept as evidence:
    toeline fracture HR-22.jpg --bent-flat --limits aws-d1.1-break-mm";

pub(super) const SCALE_ABOUT: &str = "\
Show how the scale of a photograph is read, and measure nothing.

For every photograph NAME.scale.jpg is written to the output folder: the photograph
with every graduation or corner that was used, numbered, and below it the scale, its
uncertainty and the checks it passed. The same figures go to standard output. Where
no scale can be read the picture says why, points at the place and says what to do
(exit status 3). Try it before a class photographs its coupons.";

pub(super) const SCALE_EXAMPLES: &str = "\
Examples:
  Is the rule read, and at which graduations?
    toeline scale HR-07.jpg --scale rule-mm --out evidence
  What would laying the rule 3 mm higher than the face do?
    toeline scale HR-07.jpg --scale rule-mm --scale-offset 3 --out evidence";

pub(super) const CARD_ABOUT: &str = "\
Print a scale card to lay beside the specimen.

One PDF page: the card to cut out, a ring of squares round an open window for the
specimen, with the coupon's name as a code and in words, and below it how to use
the card. Print it at 100 %, measure its control line once with a calliper, and
photograph with --scale card --card-line LENGTH. A file of that name is replaced.";

pub(super) const CARD_EXAMPLES: &str = "\
Examples:
  A card for one coupon:
    toeline card --coupon HR-07 --out HR-07.card.pdf
  A card for any coupon, with a line to write on, on Letter paper:
    toeline card --paper letter --out card.pdf";

pub(super) const LIMITS_ABOUT: &str = "\
List the acceptance limits, or show one table of them and check it.

Without a name the built-in tables are listed. With a name or the path of a TOML
file every row is shown: what is compared, what is allowed, and whether the value was
verified or written from memory. A file with a fault in it is refused with the line
and what to write instead (exit status 2); so a file of your own is checked before a
class depends on it. What counts is your own copy of the standard.";

pub(super) const LIMITS_EXAMPLES: &str = "\
Examples:
  Which tables are there?
    toeline limits
  What does level C say, and where from?
    toeline limits iso5817-c
  Begin a file of your own with a copy of a built-in one:
    toeline limits harbour-row-contest --toml > contest.toml
    toeline limits contest.toml";

pub(super) const BATCH_ABOUT: &str = "\
Measure a class of coupons from a sheet and keep the evidence in an archive.

The sheet is a CSV file as any spreadsheet writes it, one line a coupon: what is known
of it and which photographs show it. --new writes one to fill in. Lines and
photographs that cannot be used are named with what to do, and the rest goes on.

What is in the archive already is not measured again, unless the photograph, its
settings or Toeline's version are others than before; then a further measurement is
added and the earlier one kept. A run that was stopped, however hard, loses nothing:
run the command again and it goes on.

Where the sheet names no photographs, those that show the coupon's scale card file
themselves: leave the column empty, or write the word card.";

pub(super) const BATCH_EXAMPLES: &str = "\
Examples:
  A sheet to fill in, with one line to show how:
    toeline batch --new class.csv
  Measure the class, and once more after some lines were put right:
    toeline batch class.csv --photos photos --archive archive

Exit status: 0 done, 3 at least one photograph was refused, 1 a line or a photograph
could not be used, 2 something in the command or the whole sheet was not understood.";

pub(super) const CLASS_ABOUT: &str = "\
Show a class on one page: sizes, where fusion failed, points.

Reads the archive that 'toeline batch' filled and writes one HTML file that needs
nothing else: a line for each coupon, which can be put in order and narrowed, legs and
throats against their limits, where along the weld fusion failed, what was found by
process and position, points where the limits give any, and what several photographs
of one coupon say together. A table of the same figures (.csv) lies beside it. Reports
are linked where the archive lies; the links hold as long as page and archive keep
their places.

Welders stand on the page as the sheet has them. With --anonymous they do not.";

pub(super) const CLASS_EXAMPLES: &str = "\
Examples:
  The class:
    toeline class --archive archive --out class.html
  To hang on the wall:
    toeline class --archive archive --out wall.html --anonymous
  How one welder gets on:
    toeline class --archive archive --out W-12.html --welder W-12";

pub(super) const DEMO_ABOUT: &str = "\
Measure a class of painted example coupons, to see what comes out.

Lays a sheet and eighteen photographs of sections and broken coupons into a new folder,
some of sound welds, some not, and does with them what 'toeline batch' and 'toeline
class' do with yours: an archive with a report on every coupon, and the page of the
class. The workshop is invented and the photographs are painted, so they show how the
program works, not how well it does on real metal.";

pub(super) const DEMO_EXAMPLES: &str = "\
Examples:
  Have a look:
    toeline demo --out demo";

pub(super) const ARCHIVE_ABOUT: &str = "\
Look into an archive, check it, take coupons out, or measure it again.

An archive is a folder that 'toeline batch' fills: every photograph as it came from
the camera, every record, annotated picture and report, and a catalogue in which each
entry carries the hash of the one before. Nothing in it is ever overwritten. Write the
last hash down elsewhere ('archive list' shows it): it proves that nothing before it
was changed since. To back an archive up, copy its folder while no batch is running.";

pub(super) const ARCHIVE_EXAMPLES: &str = "\
Examples:
  What is in it?
    toeline archive list --archive archive
  Is every byte as it was written, and is the hash noted in March still in it?
    toeline archive verify --archive archive --head 3f0c…
  One coupon for the customer, the whole class for the examiner:
    toeline archive export --archive archive --coupon HR-07 --out HR-07.zip
    toeline archive export --archive archive --out class
  What would this version measure?
    toeline archive remeasure --archive archive";

pub(super) const STUDY_ABOUT: &str = "\
Compare several examiners: how far do their values and verdicts agree?

Reads a sheet with one line for each look of an examiner at a coupon (columns coupon,
examiner, and look where they look more than once). Every further column is worked
out: of numbers, how much of the scatter lies between the coupons, between the
examiners and in repeating; of words, how often they agree and how far beyond chance
(kappa). Every examiner has to look at every coupon equally often. Writes a page, and
the figures beside it (.json).";

pub(super) const STUDY_EXAMPLES: &str = "\
Examples:
  A sheet to fill in:
    toeline study --new study.csv
  Work it out, with a tolerance of 2 mm on the leg:
    toeline study study.csv --out study.html --tolerance leg_butting_mm=2";
