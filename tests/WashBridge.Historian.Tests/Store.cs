using Microsoft.Extensions.Time.Testing;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Tests;

/// <summary>A historian in a folder of its own that goes with it.</summary>
internal sealed class Store : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("washdb").FullName;
    private Historian? _historian;

    public Store(HistorianOptions? options = null) => Options = options ?? new HistorianOptions();

    public HistorianOptions Options { get; set; }

    public FakeTimeProvider Time { get; } = new(new DateTimeOffset(2031, 3, 5, 8, 0, 0, TimeSpan.Zero));

    public string Path => System.IO.Path.Combine(_folder, "line.washdb");

    public Historian Historian => _historian ??= Historian.Open(Path, Options, Time);

    public static Instant Start => Instant.Parse("2031-03-05T08:00:00Z");

    public static Instant At(double seconds) => new(Start.UnixMicroseconds + (long)Math.Round(seconds * 1e6));

    public IHistorianReader Reader() => Historian.OpenReader(Path);

    public void Close()
    {
        _historian?.Dispose();
        _historian = null;
    }

    public Historian Reopen()
    {
        Close();
        return Historian;
    }

    public void Dispose()
    {
        Close();
        Directory.Delete(_folder, recursive: true);
    }
}
