package desk

import "net/http"

// keyHelp is a key and what it does. The scripts read the list from the page: what is
// shown and what works is one.
type keyHelp struct {
	Key  string // what the browser calls it
	Name string // what a reader calls it
	Text string
	Do   string // what the script does
}

// keys lists the keys that work on a page by themselves, without Control or Alt. They are
// off while something is typed, and can be turned off (WCAG 2.2, 2.1.4). Letters are those
// that the word on the screen begins with, in the language of the desk.
func (d *Desk) keys() []keyHelp {
	var out []keyHelp
	for _, k := range []keyHelp{
		{Do: "help"}, {Do: "search"},
		{Key: " ", Name: d.say("press.space"), Do: "play"}, {Do: "stop"}, {Do: "compare"},
		{Key: "ArrowRight", Name: "→", Do: "next-bar"}, {Key: "ArrowLeft", Name: "←", Do: "last-bar"},
		{Do: "undo"}, {Do: "redo"},
	} {
		if k.Key == "" {
			k.Key = d.say("letter." + k.Do)
			k.Name = k.Key
		}
		k.Text = d.say("key." + k.Do)
		out = append(out, k)
	}
	return out
}

// keysView is the list of keys as a page of its own, for who works without script.
type keysView struct {
	frame
	Letter string // that opens the list
}

func (d *Desk) showKeys(w http.ResponseWriter, r *http.Request) error {
	return d.render(w, r, http.StatusOK, "keys", &keysView{frame{Title: d.say("keys.title")}, d.say("letter.help")})
}
