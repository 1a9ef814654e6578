using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Client;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>
/// Sessions, subscriptions and reconnections of our client, in virtual time, against a server that for some seconds answers with random fields, random
/// refusals or not at all, and cuts connections: once it behaves again, the client samples again within the waits that its options allow.
/// </summary>
public sealed class ClientSessionFuzzTests(ITestOutputHelper log)
{
    private const int Rounds = 200;

    /// <summary>Longest wait after a refusal that needs a person, 15 s, and what takes place after it.</summary>
    private const double PatienceSeconds = 60;

    private static readonly StatusCode[] Refusals =
    [
        StatusCodes.BadTimeout, StatusCodes.BadSessionIdInvalid, StatusCodes.BadSessionClosed, StatusCodes.BadSessionNotActivated, StatusCodes.BadSubscriptionIdInvalid,
        StatusCodes.BadTooManyOperations, StatusCodes.BadServiceUnsupported, StatusCodes.BadNoSubscription, StatusCodes.BadTooManyPublishRequests,
        StatusCodes.BadMessageNotAvailable, StatusCodes.BadUserAccessDenied, StatusCodes.BadOutOfMemory, StatusCodes.BadInternalError, StatusCodes.Good, new(0xC000_0000),
    ];

    /// <summary>With others the client would be right to wait for hours.</summary>
    private static readonly double[] Intervals = [double.NaN, double.NegativeInfinity, -5, 0, 10, 100];

    [Fact]
    public async Task A_client_samples_again_once_a_mad_server_has_come_to_its_senses()
    {
        var run = new FuzzRun(log, Rounds);
        var random = run.Random;
        var messages = new RandomMessages(random);
        var answers = 0;
        await run.ForEachAsync(
            () => BitConverter.GetBytes(random.Next()),
            seed =>
            {
                using var harness = new Harness();
                List<string> story = [];
                harness.Start();
                var madness = random.Next(2, 20);
                harness.Server.Intercept = request => random.Next(madness) > 0 ? null : Tell(story, request, Mad(request));
                for (var i = 0; i < 100; i++)
                {
                    harness.Run(0.05);
                    Publish(harness, random);
                    if (random.Next(50) == 0)
                    {
                        harness.Server.BreakAll();
                    }
                }

                harness.Server.Intercept = static _ => null;
                try
                {
                    Recovers(harness);
                }
                catch (Exception e)
                {
                    throw new InvalidOperationException(string.Join("\n", [.. story.TakeLast(20), .. harness.Listener.Events.TakeLast(10), $"{harness.Connection.State}, {harness.Server.ConnectionAttempts} attempts to connect, last error: {harness.Connection.LastError?.Message}", .. harness.Server.Requests.TakeLast(8).Select(r => $"asked: {r.Body.GetType().Name}")]), e);
                }
            });
        log.WriteLine($"{answers} mad answers");
        Assert.NotEqual(0, answers);

        object Mad(object request)
        {
            answers++;
            return random.Next(6) switch
            {
                0 => ScriptedServer.Never,
                1 => new UaException(StatusCodes.BadDecodingError, "the answer cannot be decoded"),
                2 or 3 => ScriptedServer.Refusal(Refusals[random.Next(Refusals.Length)]),
                _ when request is CreateSubscriptionRequest => new CreateSubscriptionResponse((uint)random.Next(), Intervals[random.Next(Intervals.Length)], 30, (uint)random.Next(20)),
                _ => messages.Make(MessageKind.All.First(kind => kind.Type.Name == request.GetType().Name.Replace("Request", "Response", StringComparison.Ordinal))),
            };
        }
    }

    private static object Tell(List<string> story, object request, object answer)
    {
        story.Add($"{request.GetType().Name}: {answer}");
        return answer;
    }

    private static void Publish(Harness harness, Random random)
    {
        var node = Harness.Node((uint)random.Next(1, 5));
        harness.Server.Nodes[node] = Harness.Value(random.Next(1000));
        foreach (var subscription in harness.Server.Subscriptions)
        {
            harness.Server.Publish(subscription, ((uint)random.Next(1, 3), Harness.Value(random.Next(1000))));
        }
    }

    private static void Recovers(Harness harness)
    {
        Assert.NotEqual(UaConnectionState.Closed, harness.Connection.State);
        harness.Until(() => harness.Connection.State == UaConnectionState.Connected, "a session", PatienceSeconds);
        var heard = harness.Listener.Notifications.Count;
        var looks = 0;
        harness.Until(
            () =>
            {
                foreach (var subscription in looks++ % 20 == 0 ? harness.Server.Subscriptions : [])
                {
                    harness.Server.Publish(subscription, (1, Harness.Value(4711)));
                }

                return harness.Listener.Notifications.Skip(heard).Any(n => n.Values.Any(v => v.Value.Value == 4711d));
            },
            "a value",
            PatienceSeconds);
    }
}
