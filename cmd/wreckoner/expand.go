package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// expand returns the files that arguments name: a pattern such as builds\*.json stands for the files that it fits, as
// not every shell expands it, and a folder for the files in it with one of the endings. Without endings a folder stays.
func expand(args []string, endings ...string) ([]string, error) {
	var all []string
	for _, arg := range args {
		info, err := os.Stat(arg)
		switch {
		case arg == "-" || err == nil && !info.IsDir():
			all = append(all, arg)
		case err == nil && len(endings) == 0:
			all = append(all, arg)
		case err == nil:
			files, err := filesIn(arg, endings)
			if err != nil {
				return nil, err
			}
			all = append(all, files...)
		case strings.ContainsAny(arg, "*?["):
			files, err := filepath.Glob(arg)
			if err != nil {
				return nil, usagef("%q is not a pattern: %v", arg, err)
			}
			if len(files) == 0 {
				return nil, fmt.Errorf("%s: no file has that name", arg)
			}
			slices.Sort(files)
			all = append(all, files...)
		default:
			all = append(all, arg) // opening it says what is wrong
		}
	}
	return all, nil
}

// filesIn returns the files of a folder with one of the endings, in the order of their names.
func filesIn(folder string, endings []string) ([]string, error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, plainError(err)
	}
	var files []string
	for _, e := range entries {
		ending := strings.ToLower(filepath.Ext(e.Name()))
		// the latter is a spreadsheet's own mark of an open file
		hidden := strings.HasPrefix(e.Name(), ".") || strings.HasPrefix(e.Name(), "~$")
		if !e.IsDir() && !hidden && slices.Contains(endings, ending) {
			files = append(files, filepath.Join(folder, e.Name()))
		}
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("%s: the folder has no file that ends in %s", folder, strings.Join(endings, " or "))
	}
	return files, nil
}
