using System.Text.Json;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>The demonstration with the hours simulated before it: what a newcomer is told at once, and what `analyse` says of it.</summary>
public sealed class DemoHistoryTests
{
    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(5)).Token;

    [Fact]
    public async Task A_newcomer_sees_a_forecast_and_an_alarm_and_the_analysis_folded_anew_is_the_same()
    {
        using var folder = new TemporaryFolder();
        var store = folder["demo.washdb"];
        var (exit, output, errors) = await ProgramProcess.RunAsync(Deadline, "demo", "--speed", "15", "--minutes", "1", "--store", store);
        Assert.Equal((0, ""), (exit, errors));
        Assert.Contains("invented cycles are analysed", output);
        Assert.Contains("forecast for the drain-valve@2: approaching its limit", output);
        Assert.Contains("drain valve of station 2 is wearing", output);
        Assert.Contains("    Caution: Stop the washer", output);
        Assert.Contains("likely: the drain valve clogs", output);

        var site = Path.Combine(AppContext.BaseDirectory, "config", "demo", "site.yaml");
        var (analysed, text, _) = await ProgramProcess.RunAsync(Deadline, "analyse", store, "--format", "json", "--recompute", "--site", site);
        Assert.Equal(0, analysed);
        var recomputed = JsonDocument.Parse(text).RootElement.GetProperty("recomputed");
        Assert.True(recomputed.GetProperty("isSame").GetBoolean(), recomputed.GetRawText());
        Assert.True(recomputed.GetProperty("same").GetInt32() > 10);
        var valve = JsonDocument.Parse(text).RootElement.GetProperty("forecasts").EnumerateArray().Single(f => f.GetProperty("component").GetString() == "drain-valve@2").GetProperty("forecast");
        Assert.Equal("clogging-valve", valve.GetProperty("causes")[0].GetProperty("name").GetString());

        // A technician reads what is wrong with parts that are, and nothing is suspected of the others.
        var (_, table, _) = await ProgramProcess.RunAsync(Deadline, "analyse", store, "--format", "csv");
        var rows = table.Split('\n').Where(r => r.StartsWith("drift,", StringComparison.Ordinal)).ToList();
        Assert.Contains(rows, r => r.Contains("drain time, as a multiple of what the liquid delivered lets expect, at station 2 (drain-index@2)", StringComparison.Ordinal));
        Assert.All(rows.Where(r => r.Contains("peers/", StringComparison.Ordinal)), r => Assert.Contains("against the washer's other stations", r));
    }

    [Fact]
    public async Task A_store_in_a_folder_that_does_not_exist_is_refused_with_its_name()
    {
        using var folder = new TemporaryFolder();
        var (exit, _, errors) = await ProgramProcess.RunAsync(Deadline, "demo", "--minutes", "1", "--store", Path.Combine(folder["nowhere"], "demo.washdb"));
        Assert.Equal(1, exit);
        Assert.Contains($"there is no folder {folder["nowhere"]}", errors);
    }
}
