using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>
/// A server of our own with the same kinds of nodes as the peer's: variables V0, V1 ... that count and all equal the tick, values of every built-in
/// type, a large folder, odd statuses, an analogue item.
/// </summary>
internal sealed class OurServer : IAsyncDisposable
{
    public const string Namespace = "urn:washbridge:tests:ours";
    public const int BigFolder = 3000;

    private static readonly BuiltInType[] CountingTypes = [BuiltInType.UInt32, BuiltInType.Int32, BuiltInType.Int64, BuiltInType.Float, BuiltInType.Double, BuiltInType.UInt64];

    private readonly UaServerOptions options;
    private readonly List<UaVariable> counting = [];
    private readonly ITimer timer;
    private UaServer server = null!;
    private uint tick;

    private OurServer(UaServerOptions options, int variables, TimeSpan period)
    {
        this.options = options;
        Fill(variables);
        timer = TimeProvider.System.CreateTimer(_ => Step(), null, period, period);
    }

    public AddressSpace Space { get; } = new();

    public string Url => server.Endpoint.ToString();

    public UaServer Server => server;

    /// <summary>Values of every built-in type by the identifiers of their nodes.</summary>
    public Dictionary<string, Variant> Values { get; } = [];

    public ushort Index { get; private set; }

    /// <summary>All policies, modes and identities, for the user keg with the password washer and one with <see cref="OpcUaLab.UserCertificate"/>'s peer.</summary>
    /// <param name="validator">Of clients' certificates.</param>
    /// <param name="userThumbprint">Of the certificate of a user; null: none.</param>
    public static async Task<OurServer> StartAsync(
        CertificateValidator validator, Func<string?>? userThumbprint = null, Func<UaServerOptions, UaServerOptions>? change = null, int variables = 60, int periodMs = 100)
    {
        var options = new UaServerOptions
        {
            Port = 0,
            HostNames = ["127.0.0.1"],
            Path = "/washbridge/tests",
            Endpoints = [ServerEndpoint.Unprotected, .. ServerEndpoint.Protected],
            Certificate = OpcUaLab.OurCertificate,
            Validator = validator,
            AllowAnonymous = true,
            Users = new Users(userThumbprint ?? (() => null)),
            Limits = new UaServerLimits { LoginDelay = TimeSpan.Zero, MaxReferencesPerNode = 500 },
        };
        var ours = new OurServer(change?.Invoke(options) ?? options, variables, TimeSpan.FromMilliseconds(periodMs));
        ours.server = await UaServer.StartAsync(ours.options, ours.Space);
        return ours;
    }

    public NodeId Id(string name) => new(Index, name);

    public UaVariable Variable(string name) => (UaVariable)Space.Find(Id(name))!;

    /// <summary>Nothing but the address space is left of the old server.</summary>
    /// <param name="whileDown">What must have come about before the new one starts.</param>
    public async Task RestartAsync(Func<Task> whileDown)
    {
        var port = server.Endpoint.Port;
        await server.DisposeAsync();
        await whileDown();
        server = await UaServer.StartAsync(options with { Port = port }, Space);
    }

    public async ValueTask DisposeAsync()
    {
        await timer.DisposeAsync();
        await server.DisposeAsync();
    }

    private void Step()
    {
        lock (counting)
        {
            tick++;
            foreach (var variable in counting)
            {
                variable.Set(Counted(variable.Definition.Type, tick));
            }
        }
    }

    private void Fill(int variables)
    {
        Index = Space.AddNamespace(Namespace);
        var plant = Space.AddFolder(Space.Objects, Id("Plant"), "Plant");
        for (var i = 0; i < variables; i++)
        {
            var type = CountingTypes[i % CountingTypes.Length];
            counting.Add(Space.AddVariable(plant, Id($"V{i}"), $"V{i}", new VariableDefinition(type) { InitialValue = Counted(type, 0) }));
        }

        var types = Space.AddFolder(Space.Objects, Id("Types"), "Types");
        foreach (var (name, value) in new ServedValues().All)
        {
            Values[name] = value;
            Space.AddVariable(types, Id(name), name, new VariableDefinition(value.Type) { ValueRank = value.IsArray ? value.Dimensions?.Count ?? 1 : -1, InitialValue = value });
        }

        var big = Space.AddFolder(Space.Objects, Id("Big"), "Big");
        for (var i = 0; i < BigFolder; i++)
        {
            Space.AddVariable(big, Id($"Big.{i}"), $"Big.{i}", new VariableDefinition(BuiltInType.Int32) { InitialValue = i });
        }

        Space.AddVariable(Space.Objects, Id("Temperature"), "Temperature", new VariableDefinition(BuiltInType.Double)
        {
            Range = new EURange(0, 100),
            Unit = Units.Celsius,
            InitialValue = 60d,
        });
        Space.AddVariable(Space.Objects, Id("Long"), "Long", new VariableDefinition(BuiltInType.String) { InitialValue = new string('x', 200_000) });
        Space.AddVariable(Space.Objects, Id("Odd"), "Odd", new VariableDefinition(BuiltInType.Double) { InitialValue = 1d }).Set(42d, StatusCodes.BadSensorFailure);
    }

    private static Variant Counted(BuiltInType type, uint tick) => type switch
    {
        BuiltInType.UInt32 => (Variant)tick,
        BuiltInType.Int32 => (int)tick,
        BuiltInType.Int64 => (long)tick,
        BuiltInType.Float => (float)tick,
        BuiltInType.Double => (double)tick,
        _ => (ulong)tick,
    };

    private sealed class Users(Func<string?> thumbprint) : IUserDirectory
    {
        public bool HasPasswords => true;

        public bool HasCertificates => true;

        public ValueTask<bool> IsPasswordAsync(string user, string password, CancellationToken cancellation) => ValueTask.FromResult((user, password) == ("keg", "washer"));

        public ValueTask<string?> FindUserAsync(ReadOnlyMemory<byte> certificate, CancellationToken cancellation) =>
            ValueTask.FromResult(CertificateChain.TrySplit(certificate, out _) is null && Convert.ToHexString(CertificateChain.LeafThumbprint(certificate)) == thumbprint() ? "operator" : null);
    }
}
