using System.Security.Cryptography;
using System.Text.Json.Nodes;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;

namespace WashBridge.Benchmarks.OpcUa;

/// <summary>Our server with counting variables: each change of each is the next number, so that whoever watches can tell whether one is missing.</summary>
internal sealed class OpcUaServerChild : IBench
{
    private const string Namespace = "urn:washbridge:bench";

    public string Name => "opcua-server-child";

    public string What => "(child process of 'opcua-sessions') our OPC UA server with counting variables, driven by JSON lines";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        await using var commands = new Commands();
        await LineChild.ServeAsync(commands.AnswerAsync, cancellation);
    }

    private sealed class Commands : IAsyncDisposable
    {
        private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("washbridge-bench-");
        private readonly AddressSpace space = new();
        private readonly CancellationTokenSource counting = new();
        private UaVariable[] variables = [];
        private uint count;
        private Task counter = Task.CompletedTask;
        private UaServer? server;

        public async Task<object?> AnswerAsync(JsonNode command)
        {
            switch ((string)command["do"]!)
            {
                case "start":
                    return await StartAsync((int)command["variables"]!, TimeSpan.FromMilliseconds((double)command["interval"]!), (string)command["trust"]!);
                case "stop-changes":
                    await counting.CancelAsync();
                    await counter;
                    return new { count };
                case "state":
                    return new { count, processorUs = Environment.CpuUsage.TotalTime.TotalMicroseconds };
                case var unknown:
                    throw new ArgumentException($"no command {unknown}");
            }
        }

        private async Task<object> StartAsync(int number, TimeSpan interval, string trusted)
        {
            var store = PkiStore.Open(folder.FullName);
            var certificate = ApplicationCertificate.CreateSelfSigned(
                new CertificateRequestData { SubjectName = "CN=bench server", ApplicationUri = Namespace, DnsNames = ["localhost"], IpAddresses = [System.Net.IPAddress.Loopback] },
                TimeProvider.System);
            await File.WriteAllBytesAsync(Path.Combine(store.TrustedFolder, "client.der"), Convert.FromBase64String(trusted));
            var certificateFile = Path.Combine(folder.FullName, "server.pem");
            await File.WriteAllTextAsync(certificateFile, PemEncoding.WriteString("CERTIFICATE", certificate.Der.Span));
            var index = space.AddNamespace(Namespace);
            variables = [.. Enumerable.Range(0, number).Select(i =>
                space.AddVariable(space.Objects, new NodeId(index, $"V{i}"), $"V{i}", new VariableDefinition(BuiltInType.UInt32) { InitialValue = 0u }))];
            server = await UaServer.StartAsync(
                new UaServerOptions
                {
                    Port = 0,
                    Endpoints = [ServerEndpoint.Unprotected, .. ServerEndpoint.Protected],
                    AllowAnonymous = true,
                    Certificate = certificate,
                    Validator = new CertificateValidator(store, TimeProvider.System),
                },
                space);
            counter = CountAsync(interval);
            return new { url = $"opc.tcp://127.0.0.1:{server.Endpoint.Port}", index, certificateFile };
        }

        private async Task CountAsync(TimeSpan interval)
        {
            using var timer = new PeriodicTimer(interval);
            try
            {
                while (await timer.WaitForNextTickAsync(counting.Token))
                {
                    count++;
                    foreach (var variable in variables)
                    {
                        variable.Set(count);
                    }
                }
            }
            catch (OperationCanceledException)
            {
                // Enough.
            }
        }

        public async ValueTask DisposeAsync()
        {
            await counting.CancelAsync();
            await counter;
            counting.Dispose();
            if (server is not null)
            {
                await server.DisposeAsync();
            }

            folder.Delete(recursive: true);
        }
    }
}
