using System.Security.Cryptography;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>Sessions from their creation to their end (OPC 10000-4, 5.7). Shares its lock with <see cref="SubscriptionManager"/>.</summary>
internal sealed partial class SessionManager(
    UaServerOptions options,
    EndpointList endpoints,
    IdentityChecker identities,
    SubscriptionManager subscriptions,
    ServerLog log,
    Lock gate,
    TimeProvider time)
{
    private const int NonceBytes = 32;
    private const int TokenBytes = 32;

    private readonly Dictionary<NodeId, Session> sessions = [];
    private readonly UaServerLimits limits = options.Limits;
    private uint lastId;

    public int Count
    {
        get
        {
            lock (gate)
            {
                return sessions.Count;
            }
        }
    }

    /// <exception cref="UaException">The service result (OPC 10000-4, table 14).</exception>
    public CreateSessionResponse Create(IServerConnection connection, CreateSessionRequest request)
    {
        CheckChannel(connection);
        CheckClient(connection, request);
        var nonce = RandomNumberGenerator.GetBytes(NonceBytes);
        var asked = request.RequestedSessionTimeout;
        var timeout = TimeSpan.FromMilliseconds(asked > 0
            ? Math.Clamp(asked, limits.MinSessionTimeout.TotalMilliseconds, limits.MaxSessionTimeout.TotalMilliseconds)
            : limits.MaxSessionTimeout.TotalMilliseconds);
        var token = new NodeId(0, RandomNumberGenerator.GetBytes(TokenBytes));
        Session session;
        lock (gate)
        {
            MakeRoom();
            session = new Session(new NodeId(AddressSpace.ApplicationNamespace, ++lastId), token, request.Client.ApplicationUri ?? "", timeout, connection, limits, time)
            {
                Name = request.SessionName,
                ServerNonce = nonce,
                LastRequest = time.GetTimestamp(),
            };
            sessions.Add(token, session);
        }

        var policy = connection.Policy;
        var signature = policy.IsNone
            ? new SignatureData(null, null)
            : new SignatureData(policy.AsymmetricSignatureUri, SessionSignature.Create(policy, options.Certificate!.PrivateKey, request.ClientCertificate, request.ClientNonce));
        return new CreateSessionResponse(
            session.Id,
            token,
            timeout.TotalMilliseconds,
            nonce,
            options.Certificate?.Chain.ToArray(),
            endpoints.All(request.EndpointUrl),
            signature,
            0);
    }

    /// <exception cref="UaException">The service result (OPC 10000-4, table 16).</exception>
    public async ValueTask<ActivateSessionResponse> ActivateAsync(IServerConnection connection, NodeId token, ActivateSessionRequest request, CancellationToken cancellation)
    {
        var session = Find(token);
        var nonce = session.ServerNonce;
        CheckChannel(connection);
        CheckSameClient(connection, session);
        CheckSignature(connection, nonce, request.ClientSignature);
        var user = await identities.CheckAsync(connection, nonce, request, cancellation);
        lock (gate)
        {
            // While the user was being looked up, the session may have ended, or another activation may have used the nonce: each counts once.
            if (Find(token).ServerNonce != nonce)
            {
                throw new UaException(StatusCodes.BadNonceInvalid, "another activation came first");
            }

            CheckSameClient(connection, session);
            if (session.Connection != connection)
            {
                if (session.User != user)
                {
                    throw new UaException(StatusCodes.BadIdentityTokenRejected, "another channel needs the same user");
                }

                // What was waiting on the old channel is of no more use there (OPC 10000-4, 5.7.3.1).
                session.Publishing.Forget(session.Connection);
                var before = session.Connection;
                session.Connection = connection;
                before.HasSession = IsUsed(before);
            }

            session.User = user;
            connection.HasSession = true;
            session.LastRequest = time.GetTimestamp();
            session.ServerNonce = RandomNumberGenerator.GetBytes(NonceBytes);
            log.SessionActivated(connection.Address, session.Name, user.Name ?? "anonymous");
            return new ActivateSessionResponse(session.ServerNonce, []);
        }
    }

    /// <summary>The session that a request belongs to.</summary>
    /// <exception cref="UaException">BadSessionIdInvalid, BadSecureChannelIdInvalid or BadSessionNotActivated.</exception>
    public Session Use(IServerConnection connection, NodeId token)
    {
        lock (gate)
        {
            var session = Find(token);
            if (session.Connection != connection)
            {
                throw new UaException(StatusCodes.BadSecureChannelIdInvalid, "the session is used on another channel");
            }

            if (!session.IsActivated)
            {
                throw new UaException(StatusCodes.BadSessionNotActivated, "the session is not activated");
            }

            session.LastRequest = time.GetTimestamp();
            return session;
        }
    }

    public CloseSessionResponse Close(IServerConnection connection, NodeId token, CloseSessionRequest request)
    {
        lock (gate)
        {
            // A session may be closed before it is activated (OPC 10000-4, 5.7.4.1), on the channel that made it.
            var session = Find(token);
            if (session.Connection != connection)
            {
                throw new UaException(StatusCodes.BadSecureChannelIdInvalid, "the session is used on another channel");
            }

            End(session, request.DeleteSubscriptions, StatusCodes.BadSessionClosed, "closed by the client");
            return new CloseSessionResponse();
        }
    }

    /// <summary>Ends sessions that nobody has used for their time-out. Their subscriptions go on (OPC 10000-4, 5.14.1.1).</summary>
    public void Sweep()
    {
        lock (gate)
        {
            foreach (var session in sessions.Values.ToArray())
            {
                session.Publishing.Expire();
                if (time.GetElapsedTime(session.LastRequest) >= session.Timeout)
                {
                    End(session, deleteSubscriptions: false, StatusCodes.BadSessionClosed, "its time-out is over");
                }
            }
        }
    }

    /// <summary>A connection has ended. Its sessions wait for another one; those that nobody has activated end.</summary>
    public void Disconnected(IServerConnection connection)
    {
        lock (gate)
        {
            foreach (var session in sessions.Values.Where(session => session.Connection == connection).ToArray())
            {
                session.Publishing.Forget(connection);
                if (!session.IsActivated)
                {
                    End(session, deleteSubscriptions: true, StatusCodes.BadSecureChannelClosed, "never activated");
                }
            }
        }
    }

    private Session Find(NodeId token)
    {
        lock (gate)
        {
            return !token.IsNull && sessions.TryGetValue(token, out var session)
                ? session
                : throw new UaException(StatusCodes.BadSessionIdInvalid, "no such session");
        }
    }

    private void End(Session session, bool deleteSubscriptions, StatusCode reason, string why)
    {
        sessions.Remove(session.AuthenticationToken);
        session.IsEnded = true;
        session.Connection.HasSession = IsUsed(session.Connection);
        subscriptions.Leave(session, deleteSubscriptions, reason);
        log.SessionEnded(session.Name, why);
    }

    private bool IsUsed(IServerConnection connection) => sessions.Values.Any(session => session.IsActivated && session.Connection == connection);

    /// <summary>
    /// Sessions that nobody activated give way, so that a peer without credentials cannot keep others out; activated ones do not
    /// (OPC 10000-4, 5.7.2.1).
    /// </summary>
    private void MakeRoom()
    {
        var idle = sessions.Values.Where(static session => !session.IsActivated).ToArray();
        if (idle.Length > 0 && (idle.Length >= limits.MaxUnactivatedSessions || sessions.Count >= limits.MaxSessions))
        {
            End(idle.MinBy(static session => session.LastRequest)!, deleteSubscriptions: true, StatusCodes.BadSessionClosed, "never activated, and others came");
        }

        if (sessions.Count >= limits.MaxSessions)
        {
            throw new UaException(StatusCodes.BadTooManySessions, $"{limits.MaxSessions} sessions, no more are allowed");
        }
    }
}
