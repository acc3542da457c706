// Package musicxml reads lead sheets and piano scores from MusicXML 1.0 to 4.0,
// plain or compressed, and writes them as MusicXML 4.0.
//
// It knows the format and nothing else: what is read becomes a leadsheet.Song or
// a score.Score, and everything that was dropped, guessed or mended on the way
// becomes a placed Problem. Files come from strangers, so the reader bounds what
// it takes in (see the limits in read.go and in package markup).
//
// Reading goes in steps, each in its own files: package markup (archive, encoding,
// safe XML, the words of chord symbols), readdoc and readitem and the files
// beside them (elements into small structs), readtime (places in time), readbars
// (length, metre and number of each bar), readroute (order of playing), readsong
// and readscore (what it means).
package musicxml
