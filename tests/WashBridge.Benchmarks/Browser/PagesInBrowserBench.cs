using System.Diagnostics;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Playwright;
using WashBridge.Configuration;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Pipeline;

namespace WashBridge.Benchmarks.Browser;

/// <summary>
/// From the request until a person can use the page, in a browser on the same machine: 30 days of one signal drawn, and 1,000 kegs listed so that a box can be
/// ticked, with a year of washing behind them.
/// </summary>
internal sealed class PagesInBrowserBench : IBench
{
    private const int Loads = 7;
    private const double Bar = 1000;

    private static readonly DateTimeOffset Now = new(2031, 3, 31, 0, 0, 0, TimeSpan.Zero);

    public string Name => "pages-in-browser";

    public string What => "from the request until a person can use it: 30 days of one signal, 1,000 kegs (needs chromium)";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var folder = Directory.CreateTempSubdirectory("pages-in-browser");
        try
        {
            var demo = ConfigurationLoader.Load(Path.Combine(AppContext.BaseDirectory, "config", "demo", "site.yaml")).Site!;
            var site = demo with
            {
                Store = demo.Store with { Path = Path.Combine(folder.FullName, "a.washdb") },
                Washers = [LivePageBench.Washer(demo.Washers[0], "w1")],
                Http = new HttpConfiguration(DemoPages.Choose(0)),
            };
            using var historian = Historian.Historian.Open(site.Store.Path, new HistorianOptions(), TimeProvider.System);
            PageSignalBench.Fill(historian, 30, cancellation);
            PageKegsBench.Fill(historian, 365, cancellation);

            var signal = new HistorianSignal();
            var time = new Clock();
            using var host = DemoPages.Make(site, historian, signal, new Bridge(site, historian, signal, [], time, NullLoggerFactory.Instance, bootId: null), time);
            await host.StartAsync(cancellation);
            await using (var chromium = await Chromium.StartAsync())
            {
                var context = await chromium.SitDownAsync(new Uri($"http://localhost:{site.Http.Port}"), Screen.Desk);
                var page = await context.NewPageAsync();
                await MeasureAsync(page, "30 days of one signal", "signals?washer=w1&signal=temperature.caustic&from=2031-03-01&until=2031-03-31", p => p.Locator("figure[data-ready] canvas").First.WaitForAsync());
                await MeasureAsync(page, "1,000 kegs", "kegs?from=2031-02-27&until=2031-03-05&all=1", p => p.Locator("main a[href*='kegs/keg']").Nth(999).HoverAsync());
            }

            await host.StopAsync(cancellation);
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private static async Task MeasureAsync(IPage page, string what, string address, Func<IPage, Task> use)
    {
        var (times, answers) = (new List<double>(), new List<double>());
        for (var i = 0; i < Loads; i++)
        {
            await page.GotoAsync("about:blank");
            var watch = Stopwatch.StartNew();
            await page.GotoAsync(address, new PageGotoOptions { WaitUntil = WaitUntilState.DOMContentLoaded });
            await use(page);
            times.Add(watch.Elapsed.TotalMilliseconds);
            answers.Add(await page.EvaluateAsync<double>("performance.getEntriesByType('navigation')[0].responseEnd"));
        }

        var first = times[0];
        times.Sort();
        answers.Sort();
        var median = times[times.Count / 2];
        Console.WriteLine($"{what,-24} first {first,5:0} ms, median {median,5:0} ms, of which {answers[answers.Count / 2],5:0} ms until the page has arrived (bar {Bar:0} ms): {(median <= Bar ? "kept" : "MISSED")}");
    }

    private sealed class Clock : TimeProvider
    {
        public override DateTimeOffset GetUtcNow() => Now;
    }
}
