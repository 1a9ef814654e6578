using System.Diagnostics.Metrics;
using System.Runtime.CompilerServices;
using Microsoft.Extensions.DependencyInjection;
using WashBridge.Telemetry;
using WashBridge.Tests.Web;

namespace WashBridge.Tests.Telemetry;

/// <summary>
/// The table of METRICS.md has every instrument of a running service and no other. Set WASHBRIDGE_WRITE_EXPECTED=1 to write it anew; labels that stand there are kept, and are held to
/// what a running service gives out by the end-to-end test of metrics.
/// </summary>
public sealed class MetricsPageTests
{
    private const string LastFixedLine = "<!-- Below: made from the code by MetricsPageTests; the column of labels is written by hand. -->\n";

    private static readonly string Page = Path.Combine(Repository.Root, "src/WashBridge/Telemetry/METRICS.md");

    [Fact]
    public async Task The_page_has_every_instrument_of_a_running_service_with_unit_and_meaning()
    {
        await using var trial = await WebTrial.StartAsync();
        foreach (var type in typeof(Measures).Assembly.GetTypes().Where(t => t.Namespace == typeof(Measures).Namespace && t is { IsAbstract: true, IsSealed: true }))
        {
            RuntimeHelpers.RunClassConstructor(type.TypeHandle);
        }

        // Other tests have services of their own in this process, with meters of their own.
        var own = trial.Services.GetRequiredService<IMeterFactory>();
        var found = new SortedDictionary<string, Instrument>(StringComparer.Ordinal);
        using var listener = new MeterListener();
        listener.InstrumentPublished = (instrument, _) =>
        {
            var isOurs = instrument.Meter.Name == Measures.MeterName && (instrument.Meter.Scope is null || ReferenceEquals(instrument.Meter.Scope, own));
            if (isOurs || (TelemetryServices.ReadyMade.TryGetValue(instrument.Meter.Name, out var kept) && kept.Contains(instrument.Name)))
            {
                found[instrument.Name] = instrument;
            }
        };
        listener.Start();
        listener.Dispose();

        var page = (await File.ReadAllTextAsync(Page, WebTrial.Cancellation)).ReplaceLineEndings("\n");
        var introduction = page[..(page.IndexOf(LastFixedLine, StringComparison.Ordinal) + LastFixedLine.Length)];
        var labels = page[introduction.Length..].Split('\n').Select(l => l.Split('|', StringSplitOptions.TrimEntries)).Where(c => c.Length > 5).ToDictionary(c => c[1].Trim('`'), c => c[4]);
        var expected = introduction + "\n| instrument | kind | unit | labels | meaning |\n| --- | --- | --- | --- | --- |\n" + string.Concat(found.Values.Select(i => Row(i, labels.GetValueOrDefault(i.Name, ""))));
        if (Environment.GetEnvironmentVariable("WASHBRIDGE_WRITE_EXPECTED") == "1")
        {
            await File.WriteAllTextAsync(Page, expected, WebTrial.Cancellation);
            page = expected;
        }

        Assert.All(found.Values, i => Assert.False(string.IsNullOrEmpty(i.Unit) || string.IsNullOrEmpty(i.Description), i.Name));
        Assert.Superset(TelemetryServices.ReadyMade.Values.SelectMany(n => n).ToHashSet(), found.Keys.ToHashSet());
        Assert.Equal(expected, page);
    }

    private static string Row(Instrument instrument, string labels) => $"| `{instrument.Name}` | {Kind(instrument.GetType().Name)} | `{instrument.Unit}` |{(labels.Length > 0 ? $" {labels} " : " ")}| {instrument.Description} |\n";

    private static string Kind(string type) => type.Contains("Histogram", StringComparison.Ordinal) ? "histogram"
        : type.Contains("Gauge", StringComparison.Ordinal) || type.Contains("UpDown", StringComparison.Ordinal) ? "gauge"
        : "counter";
}
