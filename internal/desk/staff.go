package desk

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
)

// staffRoom is what stays above and below a staff that is shown alone, in units of the
// picture's system: a little less than a staff's height, for fingers and dots.
const staffRoom = 420

var (
	reSystem = regexp.MustCompile(`<g class="system" transform="translate\(\S+ ([-0-9.]+)\) scale\(([0-9.]+)\)`)
	reSize   = regexp.MustCompile(`height="([0-9.]+)mm" viewBox="0 0 ([0-9.]+) ([0-9.]+)"`)
	reLeft   = regexp.MustCompile(`(<g class="system"[^>]*>\s*)<path [^>]*/>`) // the line at the left of both staves
	rePath   = regexp.MustCompile(`d="([^"]*)"`)
	reAt     = regexp.MustCompile(`<use [^>]*transform="translate\(([-0-9.]+) ([-0-9.]+)\)`)
	rePair   = regexp.MustCompile(`[-0-9.]+ ([-0-9.]+)`)
)

// oneStaff shows one hand of a picture of one system: its staff with its notes, and of what
// belongs to the page the signs on that side of it. only is "right" or "left"; a picture
// without two staves stays as it is.
func oneStaff(svg []byte, only string) []byte {
	staves := groups(svg, `<g class="staff">`)
	system := reSystem.FindSubmatchIndex(svg)
	size := reSize.FindSubmatchIndex(svg)
	if only != "right" && only != "left" || len(staves) != 2 || system == nil || size == nil {
		return svg
	}
	number := func(b []byte) float64 { f, _ := strconv.ParseFloat(string(b), 64); return f }
	mine, other := staves[0], staves[1]
	if only == "left" {
		mine, other = other, mine
	}
	low, high := inked(svg[mine[0]:mine[1]])
	// From units of the system to millimetres of the picture: the system lies in a group that
	// was moved down by its margin.
	tall := number(svg[size[6]:size[7]])
	at := func(y float64) float64 {
		return margin + number(svg[system[2]:system[3]]) + number(svg[system[4]:system[5]])*y
	}
	top, bottom := 0.0, tall
	if only == "left" {
		top = max(0, at(low-staffRoom))
	} else {
		bottom = min(tall, at(high+staffRoom))
	}
	head := fmt.Sprintf(`height="%.3fmm" viewBox="0 %.3f %s %.3f"`, bottom-top, top, svg[size[4]:size[5]], bottom-top)
	out := slices.Concat(svg[:size[0]], []byte(head), svg[size[1]:other[0]], svg[other[1]:])
	out = reLeft.ReplaceAll(out, []byte("$1"))
	lowMine, highMine := low, high
	lowOther, highOther := inked(svg[other[0]:other[1]])
	for _, kind := range []string{`<g class="slur">`, `<g class="tie">`} { // those of the other hand go with its staff
		for i := 0; ; {
			g := groups(out, kind)
			if i >= len(g) {
				break
			}
			from, to := inked(out[g[i][0]:g[i][1]])
			if mid := (from + to) / 2; off(mid, lowOther, highOther) < off(mid, lowMine, highMine) {
				out = slices.Concat(out[:g[i][0]], out[g[i][1]:])
			} else {
				i++
			}
		}
	}
	for _, gone := range []string{`<g class="grpSym">`, `<g class="dynam">`, `<g class="barLine">`} { // they join the staves, or stand between
		for g := groups(out, gone); len(g) > 0; g = groups(out, gone) {
			out = slices.Concat(out[:g[0][0]], out[g[0][1]:])
		}
	}
	return out
}

// off is how far a place is from a stretch; within it, less than nothing by how far its middle
// is.
func off(y, low, high float64) float64 { return math.Abs(y-(low+high)/2) - (high-low)/2 }

// margin is the room around a picture of one system, in mm.
const margin = 2

// groups are where the groups that begin so stand in a picture: from their first byte to
// behind their last.
func groups(svg []byte, begin string) (out [][2]int) {
	for from := 0; ; {
		i := bytes.Index(svg[from:], []byte(begin))
		if i < 0 {
			return out
		}
		start := from + i
		end, deep := start, 0
		for {
			open, shut := bytes.Index(svg[end:], []byte("<g")), bytes.Index(svg[end:], []byte("</g>"))
			if shut < 0 {
				return out
			}
			if open >= 0 && open < shut {
				tag := bytes.IndexByte(svg[end+open:], '>')
				if svg[end+open+tag-1] != '/' { // an empty group has no end
					deep++
				}
				end += open + tag + 1
				continue
			}
			end += shut + len("</g>")
			if deep--; deep == 0 {
				break
			}
		}
		out, from = append(out, [2]int{start, end}), end
	}
}

// inked is from where to where a group reaches downwards.
func inked(group []byte) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	take := func(b []byte) {
		if f, err := strconv.ParseFloat(string(b), 64); err == nil {
			low, high = min(low, f), max(high, f)
		}
	}
	for _, m := range reAt.FindAllSubmatch(group, -1) {
		take(m[2])
	}
	for _, m := range rePath.FindAllSubmatch(group, -1) {
		for _, p := range rePair.FindAllSubmatch(m[1], -1) {
			take(p[1])
		}
	}
	return low, high
}
