package gradatim

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/proof"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// SureMends stands among the ids of mends for all that are sure: likely to LikelyMend
// percent at least.
const (
	SureMends  = "sure"
	LikelyMend = proof.Sure
)

// MendedCode is the code of the Problems that tell what was mended.
const MendedCode = "sheet-mended"

// Mend takes readings that Read has told: Problems of the song that have a Mend are
// suspected errors of the sheet, and their ids, or SureMends, say which to take. The
// Problems of the song that comes back tell what was mended and what is suspected still;
// the song given stays as it is. The error is a leadsheet.Problems that names the ids
// that nothing has.
func Mend(song leadsheet.Song, ids ...string) (leadsheet.Song, error) {
	w := words.Must(words.Default)
	out, err := mend(song, ids)
	if err != nil {
		return leadsheet.Song{}, w.Err(err)
	}
	out.Problems = w.Problems(out.Problems)
	return out, nil
}

func mend(song leadsheet.Song, ids []string) (leadsheet.Song, error) {
	sure := slices.Contains(ids, SureMends)
	named := slices.DeleteFunc(slices.Clone(ids), func(id string) bool { return id == SureMends })
	done, rest := split(song.Problems)
	song.Problems = rest
	out, taken, left, unknown := proof.Mend(song, sure, named...)
	var ps leadsheet.Problems
	for _, id := range unknown {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: song.File}, "mend-unknown", "ID", leadsheet.Quoted(id))
	}
	if err := ps.Err(); err != nil {
		return leadsheet.Song{}, err
	}
	for _, s := range taken {
		done = append(done, s.Mended())
	}
	out.Problems = append(done, out.Problems...)
	for _, s := range left {
		out.Problems = append(out.Problems, s.Problem())
	}
	out.Problems.Sort()
	return out, nil
}

// split takes the Problems of proof-reading out of a list: those of what was mended, and
// the others.
func split(ps leadsheet.Problems) (mended, rest leadsheet.Problems) {
	for _, p := range ps {
		switch {
		case p.Code == MendedCode:
			mended = append(mended, p)
		case p.Mend == "":
			rest = append(rest, p)
		}
	}
	return mended, rest
}

// proofread adds to a song's Problems what is suspected of its sheet.
func proofread(song leadsheet.Song) leadsheet.Song {
	found := proof.Of(song, harmony.Analyse(song))
	if len(found) == 0 {
		return song
	}
	song.Problems = slices.Clone(song.Problems)
	for _, s := range found {
		if s.Mendable() || s.Kind != proof.Length { // whoever read the sheet has told of its length
			song.Problems = append(song.Problems, s.Problem())
		}
	}
	song.Problems.Sort()
	return song
}
