using System.Buffers;
using System.Net.Sockets;
using System.Security.Authentication;
using System.Security.Cryptography.X509Certificates;
using MQTTnet;
using MQTTnet.Exceptions;
using MQTTnet.Formatter;
using MQTTnet.Protocol;
using WashBridge.Configuration;

namespace WashBridge.Messaging;

/// <summary>A connection by MQTT 5 over TCP or TLS.</summary>
internal sealed class MqttLink(MqttConfiguration configuration, string clientId) : IMqttLink
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(15);

    /// <summary>The follower asks for a sign of life more often, so that the library's own pings never come between (see <see cref="ConfirmAsync"/>).</summary>
    private static readonly TimeSpan KeepAlive = MqttFollowerOptions.LongestHeartbeat * 3;

    /// <summary>A command is small: the broker keeps larger ones from us.</summary>
    private const uint MaxPacketBytes = 64 * 1024;

    private readonly IMqttClient _client = new MqttClientFactory().CreateMqttClient();

    public async Task ConnectAsync(MqttMessage? will, Action<string, byte[]> received, Action<string> lost, CancellationToken cancellation)
    {
        _client.ApplicationMessageReceivedAsync += e =>
        {
            received(e.ApplicationMessage.Topic, e.ApplicationMessage.Payload.ToArray());
            return Task.CompletedTask;
        };
        var connected = false;
        _client.DisconnectedAsync += e =>
        {
            if (connected)
            {
                lost(e.Exception?.Message ?? $"the broker ended the connection ({Text(e.ReasonString, $"{e.Reason}")})");
            }

            return Task.CompletedTask;
        };
        var result = await TryAsync(token => _client.ConnectAsync(Options(will), token), cancellation);
        if (result.ResultCode != MqttClientConnectResultCode.Success)
        {
            var failure = result.ResultCode is MqttClientConnectResultCode.BadUserNameOrPassword or MqttClientConnectResultCode.NotAuthorized or MqttClientConnectResultCode.BadAuthenticationMethod or MqttClientConnectResultCode.Banned
                ? MqttFailure.Unauthorised
                : MqttFailure.Refused;
            throw new MqttLinkException(failure, $"{configuration.Address} refuses the connection: {Text(result.ReasonString, $"{result.ResultCode}")}");
        }

        connected = true;
    }

    public async Task SubscribeAsync(IReadOnlyList<string> topics, CancellationToken cancellation)
    {
        var options = new MqttClientSubscribeOptionsBuilder();
        foreach (var topic in topics)
        {
            options.WithTopicFilter(topic, MqttQualityOfServiceLevel.AtLeastOnce);
        }

        var result = await TryAsync(token => _client.SubscribeAsync(options.Build(), token), cancellation);
        if (result.Items.FirstOrDefault(i => i.ResultCode > MqttClientSubscribeResultCode.GrantedQoS2) is { } refused)
        {
            throw new MqttLinkException(MqttFailure.Unauthorised, $"{configuration.Address} does not let us subscribe to {refused.TopicFilter.Topic}: {refused.ResultCode}");
        }
    }

    public async Task PublishAsync(MqttMessage message, CancellationToken cancellation)
    {
        var built = new MqttApplicationMessageBuilder()
            .WithTopic(message.Topic)
            .WithPayload(new ReadOnlySequence<byte>(message.Payload))
            .WithQualityOfServiceLevel(Level(message))
            .WithRetainFlag(message.Retain)
            .Build();
        var result = await TryAsync(token => _client.PublishAsync(built, token), cancellation);
        if (!result.IsSuccess)
        {
            throw new MqttLinkException(result.ReasonCode == MqttClientPublishReasonCode.NotAuthorized ? MqttFailure.Unauthorised : MqttFailure.Refused, $"{configuration.Address} does not take {message.Topic}: {Text(result.ReasonString, $"{result.ReasonCode}")}");
        }
    }

    public Task ConfirmAsync(CancellationToken cancellation) => TryAsync(
        async token =>
        {
            await _client.PingAsync(token);
            return true;
        },
        cancellation);

    public Task DisconnectAsync(CancellationToken cancellation) => TryAsync(
        async token =>
        {
            await _client.DisconnectAsync(new MqttClientDisconnectOptions(), token);
            return true;
        },
        cancellation);

    public ValueTask DisposeAsync()
    {
        _client.Dispose();
        return ValueTask.CompletedTask;
    }

    private static string Text(string? reason, string fallback) => string.IsNullOrEmpty(reason) ? fallback : reason;

    private static MqttQualityOfServiceLevel Level(MqttMessage message) => message.AtLeastOnce ? MqttQualityOfServiceLevel.AtLeastOnce : MqttQualityOfServiceLevel.AtMostOnce;

    /// <summary>A clean start and no session after the end: Sparkplug 3.0.0, 5.4.</summary>
    private MqttClientOptions Options(MqttMessage? will)
    {
        var options = new MqttClientOptionsBuilder()
            .WithProtocolVersion(MqttProtocolVersion.V500)
            .WithTcpServer(configuration.Host, configuration.Port)
            .WithClientId(clientId)
            .WithCleanStart(true)
            .WithSessionExpiryInterval(0)
            .WithKeepAlivePeriod(KeepAlive)
            .WithTimeout(Patience)
            .WithMaximumPacketSize(MaxPacketBytes);
        if (configuration.User is { } user)
        {
            options.WithCredentials(user, configuration.Secret);
        }

        if (will is not null)
        {
            options.WithWillTopic(will.Topic).WithWillPayload(will.Payload.ToArray()).WithWillQualityOfServiceLevel(Level(will)).WithWillRetain(will.Retain);
        }

        if (configuration.Tls)
        {
            options.WithTlsOptions(tls =>
            {
                tls.UseTls().WithTargetHost(configuration.Host).WithSslProtocols(SslProtocols.None).WithRevocationMode(X509RevocationMode.NoCheck);
                if (configuration.Authorities.Count > 0)
                {
                    tls.WithTrustChain([.. configuration.Authorities]);
                }

                if (configuration.Certificate.Count > 0)
                {
                    tls.WithClientCertificates(configuration.Certificate);
                }
            });
        }

        return options.Build();
    }

    /// <summary>One attempt with a deadline.</summary>
    private async Task<T> TryAsync<T>(Func<CancellationToken, Task<T>> action, CancellationToken cancellation)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        limit.CancelAfter(Patience);
        try
        {
            return await action(limit.Token);
        }
        catch (Exception e) when (!cancellation.IsCancellationRequested && (e is OperationCanceledException or MqttCommunicationTimedOutException))
        {
            throw new MqttLinkException(MqttFailure.TimedOut, $"{configuration.Address} gave no answer within {Patience.TotalSeconds} s", e);
        }
        catch (Exception e) when (Find<AuthenticationException>(e) is { } tls)
        {
            throw new MqttLinkException(MqttFailure.Tls, $"{configuration.Address}: TLS failed: {tls.Message}", e);
        }
        catch (Exception e) when (!cancellation.IsCancellationRequested && e is not MqttLinkException)
        {
            // Whatever the library has to say, the connection's state is unknown then; a broker must never end the service.
            throw new MqttLinkException(MqttFailure.Unreachable, $"{configuration.Address} is not reached: {(Find<SocketException>(e) ?? e).Message}", e);
        }
        catch (Exception e) when (cancellation.IsCancellationRequested && e is not OperationCanceledException)
        {
            throw new OperationCanceledException(e.Message, e, cancellation);
        }
    }

    private static T? Find<T>(Exception? e)
        where T : Exception => e is null or T ? e as T : Find<T>(e.InnerException);
}
