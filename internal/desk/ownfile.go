package desk

import (
	"bytes"
	"cmp"
	"context"
	"encoding/base64"
	"image"
	"image/jpeg"
	"image/png"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"

	"gradatim"
	"gradatim/leadsheet"
)

// What a lesson file names lies beside it: a logo, recordings. On the shelf each is a text
// of the tune, as a data URL (RFC 2397), so that it is exported and comes back as text does.
// What somebody hands in is trusted by nothing that it says of itself: its kind is read from
// its bytes, and a picture is drawn anew, so that nothing but its points is left of it.

// Bounds of what is taken in.
const (
	maxOwnFile = 16 << 20 // bytes of a recording, or of a picture
	maxPoints  = 16 << 20 // of a picture, once it is unpacked
	logoName   = "logo"
	logoWide   = 1200 // points: what is wider was no logo
)

// ownFileHistory is where a file that a lesson names is kept.
func ownFileHistory(name string) string {
	return gradatim.TextHistory("lesson-file-" + strings.ReplaceAll(name, ".", "-"))
}

// beside are the files that a tune's lesson file names, as far as they are on the shelf.
func (d *Desk) beside(ctx context.Context, tune, text string) ([]gradatim.File, error) {
	var out []gradatim.File
	for _, name := range gradatim.LessonBeside([]byte(text)) {
		if stemOf(name) != strings.TrimSuffix(name, path.Ext(name)) { // none of ours
			continue
		}
		data, _, err := d.shelf.Current(ctx, tune, ownFileHistory(name))
		if err != nil {
			return nil, err
		}
		if _, b64, ok := strings.Cut(string(data), ";base64,"); ok {
			if raw, err := base64.StdEncoding.DecodeString(b64); err == nil {
				out = append(out, gradatim.File{Name: name, Data: raw})
			}
		}
	}
	return out, nil
}

// stemOf is a file's name without its kind, of letters that may stand anywhere.
func stemOf(name string) string {
	name = strings.ToLower(strings.TrimSuffix(path.Base(strings.ReplaceAll(name, `\`, "/")), path.Ext(name)))
	var b strings.Builder
	for _, r := range name {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() == 36 {
			break
		}
	}
	return strings.Trim(b.String(), "-")
}

// signs tell kinds of sound and film by their first bytes: at, what, kind, type.
// Sources: RFC 3533 (Ogg), RFC 8794 (EBML, of WebM), ISO/IEC 14496-12 (ftyp), the RIFF
// form of WAVE, and of MP3 the ID3v2 tag or a frame's sync (ISO/IEC 11172-3), from memory.
var signs = []struct {
	at               int
	what, kind, mime string
}{
	{0, "OggS", ".ogg", "audio/ogg"}, {0, "\x1a\x45\xdf\xa3", ".webm", "video/webm"}, {4, "ftyp", ".mp4", "video/mp4"},
	{8, "WAVE", ".wav", "audio/wav"}, {0, "ID3", ".mp3", "audio/mpeg"}, {0, "\xff\xfb", ".mp3", "audio/mpeg"}, {0, "\xff\xf3", ".mp3", "audio/mpeg"}, {0, "\xff\xf2", ".mp3", "audio/mpeg"},
}

// soundKind is the kind of a recording, by its bytes; "": it is none that a browser plays.
func soundKind(data []byte) (kind, mime string) {
	for _, s := range signs {
		if len(data) > s.at+len(s.what) && string(data[s.at:s.at+len(s.what)]) == s.what {
			if s.kind == ".wav" && string(data[:4]) != "RIFF" {
				continue
			}
			if s.kind == ".mp4" && len(data) > 11 && string(data[8:11]) == "M4A" {
				return ".m4a", "audio/mp4"
			}
			return s.kind, s.mime
		}
	}
	return "", ""
}

// redrawn is a picture of a logo, drawn anew.
func redrawn(data []byte) (out []byte, kind, mime string, ok bool) {
	c, form, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || c.Width < 1 || c.Height < 1 || c.Width > maxPoints/c.Height || form != "png" && form != "jpeg" {
		return nil, "", "", false
	}
	m, _, err := image.Decode(bytes.NewReader(data))
	if err != nil || max(m.Bounds().Dx(), m.Bounds().Dy()) > logoWide {
		return nil, "", "", false
	}
	var b bytes.Buffer
	if form == "png" {
		err = png.Encode(&b, m)
		return b.Bytes(), ".png", "image/png", err == nil
	}
	err = jpeg.Encode(&b, m, &jpeg.Options{Quality: 92})
	return b.Bytes(), ".jpg", "image/jpeg", err == nil
}

// ownFiles are those that a lesson file names, as the page lists them.
func (v *ownView) ownFiles(table map[string]any) {
	v.Logo, _ = table["logo"].(string)
	media, _ := table["media"].([]map[string]any)
	for _, m := range media {
		file, _ := m["file"].(string)
		if file == "" {
			continue
		}
		title, _ := m["title"].(string)
		v.Recordings = append(v.Recordings, optionRowOf{file, title})
	}
}

// setOwnFile takes a logo or a recording in, or takes one away, and names it in the lesson
// file or not any more.
func (d *Desk) setOwnFile(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	turn := d.tunes.turn(st.Tune.ID)
	turn.Lock()
	defer turn.Unlock()
	text, on, err := d.ownText(ctx, st.Tune.ID)
	if err != nil {
		return err
	}
	table := map[string]any{}
	if toml.Unmarshal([]byte(text), &table) != nil {
		return d.impossible("desk-file.unread")
	}
	media, _ := table["media"].([]map[string]any)
	switch do := r.PostFormValue("do"); do {
	case "logo", "recording":
		data, name, err := handedIn(r)
		if err != nil {
			return err
		}
		if len(data) == 0 || len(data) > maxOwnFile {
			return d.refusedFile(w, r, st, text, on, "desk-file.size")
		}
		var kind, mime string
		stem := logoName
		if do == "logo" {
			var ok bool
			if data, kind, mime, ok = redrawn(data); !ok {
				return d.refusedFile(w, r, st, text, on, "desk-file.picture")
			}
			table["logo"] = stem + kind
		} else {
			if kind, mime = soundKind(data); kind == "" {
				return d.refusedFile(w, r, st, text, on, "desk-file.sound")
			}
			stem = cmp.Or(stemOf(name), "recording")
			taken := func(s string) bool {
				return s == logoName || slices.ContainsFunc(media, func(m map[string]any) bool { return m["file"] == s+kind })
			}
			for n := 2; taken(stem); n++ {
				stem = strings.TrimRight(stem, "0123456789-") + "-" + strconv.Itoa(n)
			}
			m := map[string]any{"title": cmp.Or(strings.TrimSpace(r.PostFormValue("title")), strings.TrimSuffix(path.Base(name), path.Ext(name))), "file": stem + kind}
			if n, err := strconv.Atoi(r.PostFormValue("level")); err == nil && n > 0 {
				m["level"] = n
			}
			table["media"] = append(media, m)
		}
		file := "data:" + mime + ";base64," + base64.StdEncoding.EncodeToString(data)
		if _, err := d.shelf.Write(ctx, st.Tune.ID, ownFileHistory(stem+kind), []byte(file), d.say("note.own-file"), -1); err != nil {
			return err
		}
	case "no-logo":
		delete(table, "logo")
	case "no-recording":
		media = slices.DeleteFunc(media, func(m map[string]any) bool { return m["file"] == r.PostFormValue("file") })
		if table["media"] = media; len(media) == 0 {
			delete(table, "media")
		}
	default:
		return errNoPage
	}
	var b bytes.Buffer
	if err := toml.NewEncoder(&b).Encode(table); err != nil {
		return err
	}
	if _, err := d.shelf.Write(ctx, st.Tune.ID, ownHistory, b.Bytes(), d.say("note.own-file"), on); err != nil {
		return err
	}
	http.Redirect(w, r, "/tunes/"+st.Tune.ID+"/lesson?told=own", http.StatusSeeOther)
	return nil
}

// handedIn is the file that a form brings, and its name.
func handedIn(r *http.Request) ([]byte, string, error) {
	if r.MultipartForm == nil || len(r.MultipartForm.File["file"]) == 0 {
		return nil, "", nil
	}
	h := r.MultipartForm.File["file"][0]
	data, err := readPart(h)
	return data, h.Filename, err
}

// refusedFile shows the page of the lesson again, with why a file was not taken.
func (d *Desk) refusedFile(w http.ResponseWriter, r *http.Request, st *state, text string, on int, says leadsheet.Saying) error {
	return d.lessonPage(w, r, st, http.StatusUnprocessableEntity, &text, on, leadsheet.Problems{leadsheet.Tell(leadsheet.Error, leadsheet.Pos{}, says)})
}
