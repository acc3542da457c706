// Prints, as JSON, what the npm library tonal (MIT) makes of chord types, scales,
// intervals and keys on 21 roots. Run by the tests from this folder, so that
// the library is found in the project's node_modules.
const { ChordType, ScaleType, Note, Interval, Key } = require("tonal");

const roots = [];
for (const letter of "CDEFGAB") for (const sign of ["b", "", "#"]) roots.push(letter + sign);

const chords = [];
for (const type of ChordType.all())
  for (const root of roots)
    for (const alias of type.aliases)
      chords.push({ root, alias, notes: type.intervals.map((i) => Note.transpose(root, i)) });

const scales = [];
for (const name of process.argv.slice(2)) {
  const type = ScaleType.get(name);
  for (const root of roots)
    scales.push({ name, root, notes: type.intervals.map((i) => Note.transpose(root, i)) });
}

const intervals = [];
const names = ["1P", "2m", "2M", "2A", "3m", "3M", "4P", "4A", "5d", "5P", "5A", "6m", "6M", "7d", "7m", "7M", "8P", "9m", "9M", "10m", "10M", "11P", "11A", "13m", "13M", "-2m", "-3M", "-4A", "-5P", "-8P"];
for (const root of roots)
  for (const interval of names) {
    const to = Note.transpose(root + "4", interval);
    intervals.push({ from: root + "4", interval, to, midi: Note.midi(to), distance: Interval.distance(root + "4", to) });
  }

const keys = [];
for (const root of roots) {
  const major = Key.majorKey(root), minor = Key.minorKey(root);
  keys.push({ root, major: major.scale, minor: minor.natural.scale, harmonic: minor.harmonic.scale, signature: major.alteration });
}

process.stdout.write(JSON.stringify({ chords, scales, intervals, keys }));
