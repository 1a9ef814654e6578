using System.Reflection;
using WashBridge.Analysing;
using WashBridge.Certificates;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;

namespace WashBridge.Publishing;

/// <summary>
/// Our own OPC UA server for plant systems: what the log says, as nodes that can be browsed, read and monitored, and not written. A follower without a cursor:
/// it shows the present, so that it begins where the log ends.
/// </summary>
internal sealed partial class OpcUaPublisher(Site site, OpcUaApplication application, IHistorianReader historian, HistorianSignal signal, TimeProvider time, ILogger<OpcUaPublisher> logger)
{
    private const int BatchSize = 1000;
    private static readonly TimeSpan VerdictsKept = TimeSpan.FromDays(3);

    private readonly Dictionary<string, PublishedWasher> _washers = [];
    private long _cursor;

    /// <summary>All entries up to this place in the log are shown to plant systems.</summary>
    public long Cursor => Volatile.Read(ref _cursor);

    /// <summary>Serves until cancelled.</summary>
    /// <exception cref="System.Net.Sockets.SocketException">The port is in use.</exception>
    public async Task RunAsync(CancellationToken cancellation)
    {
        var space = Fill();
        await using var server = await UaServer.StartAsync(Options(site.OpcUa.Server!), space, logger, time);
        Listening(logger, server.Endpoint);
        try
        {
            while (true)
            {
                var seen = signal.Last;
                CatchUp();
                await signal.WaitAsync(seen, cancellation);
            }
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
        }
    }

    /// <summary>The nodes, with the verdicts of the last days and the alarms as they stand.</summary>
    internal AddressSpace Fill()
    {
        _cursor = historian.LastSequence;
        var space = new AddressSpace(time);
        var ns = space.AddNamespace(NamespaceOf(site));
        var folder = space.AddFolder(space.Objects, new NodeId(ns, "Washers"), "Washers", site.Title);
        foreach (var washer in site.Washers)
        {
            _washers[washer.Model.Washer] = new PublishedWasher(space, folder, ns, washer);
        }

        var recent = new EventQuery { Kinds = ["keg-judged"], From = Instant.Floor(time.GetUtcNow() - VerdictsKept) };
        foreach (var judged in historian.ReadEvents(recent))
        {
            Take(judged);
        }

        foreach (var alarm in AlarmBoard.Read(historian).All)
        {
            Take(alarm);
        }

        return space;
    }

    internal void CatchUp()
    {
        while (historian.ReadLog(_cursor, BatchSize) is { Count: > 0 } entries)
        {
            foreach (var entry in entries)
            {
                if (entry.Frame is { } frame && _washers.TryGetValue(frame.Washer, out var washer))
                {
                    washer.Take(frame);
                }
                else if (entry.Event is { } washEvent)
                {
                    Take(washEvent);
                }

                _cursor = entry.Sequence;
            }
        }
    }

    /// <summary>URI of the site's nodes.</summary>
    internal static string NamespaceOf(Site site) => $"urn:washbridge:{site.Id}:washers";

    private void Take(WashEvent washEvent)
    {
        if (_washers.TryGetValue(washEvent.Washer, out var washer))
        {
            washer.Take(washEvent);
        }
    }

    private UaServerOptions Options(OpcUaServerConfiguration server) => new()
    {
        ListenAddress = server.Listen,
        Port = server.Port,
        HostNames = site.OpcUa.HostNames,
        ApplicationName = site.OpcUa.ApplicationName,
        SoftwareVersion = Assembly.GetExecutingAssembly().GetName().Version?.ToString(3) ?? "",
        Endpoints = [.. server.Policies.SelectMany(policy => policy == SecurityPolicy.None ? [ServerEndpoint.Unprotected] : server.Modes.Select(mode => new ServerEndpoint(policy, mode)))],
        AllowAnonymous = server.AllowAnonymous,
        Users = server.Users.Count > 0 ? new SiteUsers(server.Users) : null,
        Certificate = application.Certificate,
        Validator = application.Validator,
    };

    [LoggerMessage(EventId = 2101, Level = LogLevel.Information, Message = "Plant systems can read this site at {Endpoint} (OPC UA, read-only)")]
    private static partial void Listening(ILogger logger, Uri endpoint);
}
