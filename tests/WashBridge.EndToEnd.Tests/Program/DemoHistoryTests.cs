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
        Assert.Contains("Hot caustic and acid burn", output);

        var site = Path.Combine(AppContext.BaseDirectory, "config", "demo", "site.yaml");
        var (analysed, text, _) = await ProgramProcess.RunAsync(Deadline, "analyse", store, "--format", "json", "--recompute", "--site", site);
        Assert.Equal(0, analysed);
        var recomputed = JsonDocument.Parse(text).RootElement.GetProperty("recomputed");
        Assert.True(recomputed.GetProperty("isSame").GetBoolean(), recomputed.GetRawText());
        Assert.True(recomputed.GetProperty("same").GetInt32() > 10);
        var valve = JsonDocument.Parse(text).RootElement.GetProperty("forecasts").EnumerateArray().Single(f => f.GetProperty("component").GetString() == "drain-valve@2").GetProperty("forecast");
        Assert.Equal("clogging-valve", valve.GetProperty("causes")[0].GetProperty("name").GetString());
    }
}
