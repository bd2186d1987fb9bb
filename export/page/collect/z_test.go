package collect
import ("testing";"os";"fmt";"time";"tuckfinger/export/page"
"tuckfinger/params"
"tuckfinger/assembly"
)
func TestZR(t *testing.T) {
	for _, n := range []string{"rack-lifter","lid-lifter","ring-hook"} {
	file := "../../../examples/"+n+"/finger.yaml"
	src, _ := os.ReadFile(file)
	d, err := params.Load(file)
	if err != nil { t.Fatal(err) }
	t0 := time.Now()
	a, err := assembly.Analyse(d, func(s string){ fmt.Println("  ", s, time.Since(t0)) })
	if err != nil { t.Error(err); continue }
	fmt.Println(time.Since(t0))
	in := From(a)
	in.Tool, in.File, in.Source, in.Meshes = "tuckfinger test", "finger.yaml", string(src), true
	dd, err := Data(in)
	if err != nil { t.Fatal(err) }
	fmt.Println(time.Since(t0))
	for k, w := range map[string]func()error{ "rep": func() error { f,_ := os.Create("/tmp/rep-"+n+".html"); defer f.Close(); return page.Report(f, dd)}, "guide": func() error { f,_ := os.Create("/tmp/guide-"+n+".html"); defer f.Close(); return page.Guide(f, dd)} } {
	if err := w(); err != nil { t.Fatal(err) }
	st, _ := os.Stat("/tmp/"+k+"-"+n+".html")
	fmt.Println(n, k, st.Size(), time.Since(t0))
	}
	}
}
