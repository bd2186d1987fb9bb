package export

import (
	"path/filepath"

	"tuckfinger/assembly"
	"tuckfinger/export/figures"
	"tuckfinger/export/folder"
	"tuckfinger/export/page"
	"tuckfinger/export/page/collect"
	"tuckfinger/params"
)

// Version is the program's version, for the files that name what made them.
const Version = "0.1.0"

// PageData gathers what report, guide, figures and the moving assembly show.
func PageData(a *assembly.Analysis, measured *page.Measured) (*page.Data, error) {
	in := collect.From(a)
	in.Tool = "tuckfinger " + Version
	in.File, in.Source = filepath.Base(a.Design.File), string(a.Design.Text)
	in.Meshes, in.Measured = true, measured
	var err error
	if in.Bill, err = billOfMaterials(a); err != nil {
		return nil, err
	}
	if in.Plates, err = arrange(a); err != nil {
		return nil, err
	}
	return collect.Data(in)
}

// Figures writes the figures of a design into a folder, all or nothing.
func Figures(dir string, a *assembly.Analysis, measured *page.Measured) error {
	d, err := PageData(a, measured)
	if err != nil {
		return err
	}
	list, err := figures.Files(d)
	if err != nil {
		return err
	}
	var files []folder.File
	for _, f := range list {
		files = append(files, folder.File{Name: f.Name, Write: f.Write})
	}
	return folder.Write(dir, files, 0)
}

// FullView is all of a page for a design that is being edited: solids, checks
// and everything else. QuickView, without them, is collect.Quick.
func FullView(d *params.Design, source []byte) (*page.Data, error) {
	a, err := assembly.Analyse(d, nil)
	if err != nil {
		return nil, err
	}
	data, err := PageData(a, nil)
	if err != nil {
		return nil, err
	}
	data.Source = string(source)
	return data, nil
}

// QuickView is the mechanism alone, for the moment after an edit.
func QuickView(d *params.Design, source []byte) (*page.Data, error) {
	data, err := collect.Quick(d)
	if err != nil {
		return nil, err
	}
	data.Tool, data.File, data.Source = "tuckfinger "+Version, filepath.Base(d.File), string(source)
	return data, nil
}
