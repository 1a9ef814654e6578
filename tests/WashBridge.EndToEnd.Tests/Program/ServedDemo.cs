using WashBridge.Demo;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>The demonstration's washers, twenty times as fast as life, and the service that reads them and takes what people tell by HTTP.</summary>
internal sealed class ServedDemo : IAsyncDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly int _port = DemoPages.Choose(0);
    private SimulationHost? _host;
    private ProgramProcess? _service;

    private ServedDemo() => Client = new HttpClient { BaseAddress = Address };

    public Uri Address => new($"http://127.0.0.1:{_port}");

    public HttpClient Client { get; }

    public string Store => DemoSite.Store(_folder);

    public string SiteFile { get; private set; } = "";

    /// <summary>Returns once the service has committed something and listens.</summary>
    public static async Task<ServedDemo> StartAsync(CancellationToken deadline)
    {
        var demo = new ServedDemo();
        try
        {
            demo._host = await SimulationHost.StartAsync([.. DemoScenario.Washers.Select(w => (new SimulatedWasher(w.Options), 0))], new ScaledTime(20, TimeProvider.System.GetUtcNow()));
            demo.SiteFile = DemoSite.Write(demo._folder, demo._host, demo._port);
            demo._service = ProgramProcess.Start("run", demo.SiteFile);
            await DemoSite.GrownAsync(demo.Store, 1, deadline);
            await DemoSite.ListensAsync(demo._port, deadline);
            return demo;
        }
        catch
        {
            await demo.DisposeAsync();
            throw;
        }
    }

    public async ValueTask DisposeAsync()
    {
        Client.Dispose();
        if (_service is not null)
        {
            await _service.DisposeAsync();
        }

        if (_host is not null)
        {
            await _host.DisposeAsync();
        }

        _folder.Dispose();
    }
}
