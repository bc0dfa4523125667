package costs

import (
	"embed"
	"io/fs"
)

//go:embed starter
var starter embed.FS

// Starter returns the files of the starter shop folder.
func Starter() fs.FS {
	sub, err := fs.Sub(starter, "starter")
	if err != nil {
		panic("costs: " + err.Error()) // the folder is embedded
	}
	return sub
}
