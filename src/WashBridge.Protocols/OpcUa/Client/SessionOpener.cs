using System.Security.Cryptography;
using Microsoft.Extensions.Logging;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>The way from an address to a session, step by step, so that a new connection need not repeat them all.</summary>
internal sealed partial class SessionOpener(UaClientOptions options, OpenChannel open, ILogger logger, TimeProvider time)
{
    private const int NonceBytes = 32;

    /// <summary>Milliseconds; a server that says less, or no number at all, is not asked for its status more often.</summary>
    private const double LeastTimeout = 100;

    /// <summary>Asks for the endpoints and chooses one. Its certificate is validated where one is needed.</summary>
    /// <exception cref="UaException">The server cannot be reached, offers nothing that fits, or is not trusted.</exception>
    public async Task<ChosenEndpoint> DiscoverAsync(CancellationToken cancellation)
    {
        var offered = await UaDiscovery.GetEndpointsAsync(options.Endpoint, options.RequestTimeout, open, cancellation);
        var chosen = ChosenEndpoint.Choose(offered, options);
        if (!chosen.Policy.IsNone || UserTokenMaker.NeedsServerCertificate(chosen, options.Identity))
        {
            ValidateCertificate(chosen);
        }

        return chosen;
    }

    public Task<IServiceChannel> OpenChannelAsync(ChosenEndpoint endpoint, CancellationToken cancellation)
    {
        var certificate = endpoint.Policy.IsNone ? default(ReadOnlyMemory<byte>) : endpoint.Description.ServerCertificate;
        return open(new ChannelTarget(endpoint.Address, endpoint.Policy, endpoint.Description.SecurityMode, certificate), cancellation);
    }

    /// <summary>Creates and activates a session on an open channel, and reads what is needed to use it (OPC 10000-4, 5.7.2 and 5.7.3).</summary>
    /// <exception cref="UaException">The server refuses, or is not the one that discovery told of.</exception>
    public async Task<UaSession> CreateAsync(IServiceChannel channel, ChosenEndpoint endpoint, ServerClock clock, CancellationToken cancellation)
    {
        var clientNonce = RandomNumberGenerator.GetBytes(NonceBytes);
        var request = new CreateSessionRequest(
            ClientDescription(),
            ServerUri: null, // only behind a gateway
            endpoint.Address.OriginalString,
            options.SessionName ?? $"{options.ApplicationName} reading",
            clientNonce,
            options.Certificate?.Chain.ToArray(),
            options.SessionTimeout.TotalMilliseconds,
            MaxResponseMessageSize: (uint)options.Transport.MaxMessageSize);
        var created = (await channel.RequestAsync<CreateSessionRequest, CreateSessionResponse>(request, NodeId.Null, options.RequestTimeout, cancellation)).Body;
        CheckServer(endpoint, created, clientNonce);
        var state = new SessionState(endpoint, new SessionLimits(options.MaxOperationsPerRequest), clock)
        {
            SessionId = created.SessionId,
            AuthenticationToken = created.AuthenticationToken,
            Timeout = SubscriptionTimes.Interval(created.RevisedSessionTimeout >= LeastTimeout ? created.RevisedSessionTimeout : LeastTimeout),
            ServerCertificate = endpoint.Policy.IsNone ? endpoint.Description.ServerCertificate : created.ServerCertificate,
            ServerNonce = created.ServerNonce ?? [],
        };
        return await ActivateAsync(channel, state, cancellation);
    }

    /// <summary>Activates a session on a channel, perhaps another one than before, and reads what may have changed meanwhile (OPC 10000-4, 5.7.3).</summary>
    /// <exception cref="UaException">The server refuses; a <c>UaServiceException</c> about the session means that it is gone.</exception>
    public async Task<UaSession> ActivateAsync(IServiceChannel channel, SessionState state, CancellationToken cancellation)
    {
        var (token, tokenSignature) = UserTokenMaker.Make(state.Endpoint, options, state.ServerCertificate, state.ServerNonce);
        if (options.Identity is UserIdentity.NamedUser && state.Endpoint.TokenPolicy.IsNone && channel.Mode != MessageSecurityMode.SignAndEncrypt)
        {
            ClientLog.PasswordInClear(logger, options.Endpoint);
        }

        var request = new ActivateSessionRequest(Sign(state), [], token, tokenSignature);
        var activated = (await channel.RequestAsync<ActivateSessionRequest, ActivateSessionResponse>(request, state.AuthenticationToken, options.RequestTimeout, cancellation)).Body;
        state.ServerNonce = activated.ServerNonce ?? [];
        var session = new UaSession(channel, state, options, logger, time);
        await session.LoadAsync(cancellation);
        return session;
    }

    private SignatureData Sign(SessionState state)
    {
        var policy = state.Endpoint.Policy;
        return policy.IsNone
            ? new SignatureData(null, null)
            : new SignatureData(policy.AsymmetricSignatureUri, SessionSignature.Create(policy, options.Certificate!.PrivateKey, state.ServerCertificate, state.ServerNonce));
    }

    private ApplicationDescription ClientDescription() => new(
        options.ApplicationUri ?? options.Certificate?.ApplicationUri ?? $"urn:{Environment.MachineName}:washbridge",
        ProductUri: "urn:washbridge",
        new LocalizedText(options.ApplicationName),
        ApplicationType.Client,
        GatewayServerUri: null,
        DiscoveryProfileUri: null,
        DiscoveryUrls: []);
}
