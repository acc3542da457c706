package desk

import "net/http"

// keyHelp is a key and what it does. The scripts read the list from the page: what is
// shown and what works is one.
type keyHelp struct {
	Key, Text string
	Do        string // what the script does
}

// keys lists the keys that work on a page by themselves, without Control or Alt. They are
// off while something is typed, and can be turned off (WCAG 2.2, 2.1.4).
func (d *Desk) keys() []keyHelp {
	var out []keyHelp
	for _, k := range []keyHelp{
		{Key: "?", Do: "help"}, {Key: "/", Do: "search"},
		{Key: "p", Do: "play"}, {Key: "s", Do: "stop"}, {Key: "x", Do: "compare"},
		{Key: "j", Do: "next-bar"}, {Key: "k", Do: "last-bar"},
		{Key: "u", Do: "undo"}, {Key: "y", Do: "redo"},
	} {
		k.Text = d.say("key." + k.Do)
		out = append(out, k)
	}
	return out
}

// keysView is the list of keys as a page of its own, for who works without script.
type keysView struct{ frame }

func (d *Desk) showKeys(w http.ResponseWriter, r *http.Request) error {
	return d.render(w, r, http.StatusOK, "keys", &keysView{frame{Title: d.say("keys.title")}})
}
