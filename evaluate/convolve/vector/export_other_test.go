//go:build !amd64

package vector

func setAVX2(bool) {}
