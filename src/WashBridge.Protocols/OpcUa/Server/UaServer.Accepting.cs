using System.Net.Sockets;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Server;

/// <content>Connections as they come.</content>
public sealed partial class UaServer
{
    /// <summary>Connections beyond the limit while others, which gave way, are still being closed.</summary>
    private const int MaxClosing = 20;

    private async Task AcceptAsync()
    {
        var channelOptions = ChannelOptions();
        while (!stop.IsCancellationRequested)
        {
            Socket accepted;
            try
            {
                accepted = await listener.AcceptAsync(stop.Token);
            }
            catch (Exception e) when (e is OperationCanceledException or ObjectDisposedException)
            {
                return;
            }
            catch (SocketException e)
            {
                // The client gave up before it was accepted, or descriptors ran out: neither may end the server.
                log.AcceptFailed(e.Message);
                await Task.Delay(TimeSpan.FromMilliseconds(10), time, stop.Token).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
                continue;
            }

            Serve(accepted, channelOptions);
        }
    }

    private void Serve(Socket accepted, ServerChannelOptions channelOptions)
    {
        accepted.NoDelay = true;
        lock (gate)
        {
            var connection = new ChannelConnection(accepted, log, time);
            if (isDisposed || (connections.Count >= options.Limits.MaxChannels && !TryMakeRoom()))
            {
                log.TooManyConnections(connection.Peer, options.Limits.MaxChannels);
                connection.Close();
                return;
            }

            connections.Add(connection);
            connection.Running = Task.Run(() => RunAsync(connection, channelOptions));
        }
    }

    /// <summary>The oldest connection without a session gives way, so that idle ones cannot keep clients out (OPC 10000-4, 5.6.2.1).</summary>
    private bool TryMakeRoom()
    {
        if (connections.Count >= options.Limits.MaxChannels + MaxClosing
            || connections.Where(static connection => !connection.HasSession && !connection.IsClosing).MinBy(static connection => connection.IdleSince) is not { } idle)
        {
            return false;
        }

        idle.Close();
        return true;
    }

    private async Task RunAsync(ChannelConnection connection, ServerChannelOptions channelOptions)
    {
        var reason = await connection.ServeAsync(channelOptions, host, logger);
        host.Sessions.Disconnected(connection);
        lock (gate)
        {
            connections.Remove(connection);
        }

        log.ConnectionEnded(connection.Peer, reason);
    }

    private ServerChannelOptions ChannelOptions() => new()
    {
        Allowed = [.. options.Endpoints.Select(static endpoint => new ChannelProtection(endpoint.Policy, endpoint.Mode)).Append(ChannelProtection.None).Distinct()],
        Certificate = options.Certificate,
        ValidateClient = ValidateClient,
        Limits = options.Transport,
        Decoding = new Encoding.DecodingLimits { MaxDecodedBytes = (int)Math.Min(int.MaxValue, 8L * options.Transport.MaxMessageSize) },
    };

    private StatusCode ValidateClient(ReadOnlyMemory<byte> certificate)
    {
        var check = options.Validator!.Validate(certificate, new CertificateExpectation
        {
            Purpose = CertificatePurpose.Client,
            SecurityPolicy = SecurityPolicy.Basic256Sha256,
        });
        if (!check.IsAccepted)
        {
            log.CertificateRefused("a channel", string.Join(" ", check.Findings));
        }

        return check.Status;
    }
}
