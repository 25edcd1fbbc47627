module tipwright

go 1.26

require (
	codeberg.org/go-pdf/fpdf v0.12.0
	github.com/BurntSushi/toml v1.6.0
	github.com/alecthomas/kong v1.17.0
	github.com/fsnotify/fsnotify v1.10.1
	github.com/hschendel/stl v1.0.4
	github.com/qmuntal/gltf v0.28.0
	github.com/rogpeppe/go-internal v1.16.0
	github.com/schollz/progressbar/v3 v3.19.1
	golang.org/x/image v0.40.0
	golang.org/x/sync v0.20.0
	golang.org/x/sys v0.46.0
	golang.org/x/term v0.44.0
	golang.org/x/text v0.37.0
	gonum.org/v1/gonum v0.17.0
	gonum.org/v1/plot v0.17.0
	pgregory.net/rapid v1.3.0
)

require (
	codeberg.org/go-fonts/liberation v0.5.0 // indirect
	codeberg.org/go-latex/latex v0.2.0 // indirect
	git.sr.ht/~sbinet/gg v0.7.0 // indirect
	github.com/golang/freetype v0.0.0-20170609003504-e2365dfdc4a0 // indirect
	github.com/mitchellh/colorstring v0.0.0-20190213212951-d06e56a500db // indirect
	github.com/rivo/uniseg v0.4.7 // indirect
	golang.org/x/tools v0.44.0 // indirect
)
