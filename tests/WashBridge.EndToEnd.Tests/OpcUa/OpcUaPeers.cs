using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>The library node-opcua in a process of its own, driven by JSON lines: see tests/peers/opcua_*.mjs.</summary>
internal abstract class OpcUaPeer(PeerProcess process, TemporaryFolder? folder = null) : IAsyncDisposable
{
    protected static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web) { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>All lines printed so far, the library's own among them.</summary>
    public string Output => process.Output;

    protected PeerProcess Process => process;

    public async ValueTask DisposeAsync()
    {
        await process.DisposeAsync();
        folder?.Dispose();
    }

    /// <summary>Its keys and certificates lie in a folder of its own, unless the options name one.</summary>
    protected static async Task<(PeerProcess Process, TemporaryFolder Folder)> StartAsync(string script, object? options)
    {
        var folder = new TemporaryFolder();
        try
        {
            var all = JsonSerializer.SerializeToNode(options ?? new { }, Json)!.AsObject();
            all.TryAdd("pki", folder.Root);
            return (await PeerProcess.ServeAsync("node", script, all.ToJsonString(Json)), folder);
        }
        catch
        {
            folder.Dispose();
            throw;
        }
    }

    /// <summary>The answer to one line; fails where the peer answers an error.</summary>
    protected async Task<JsonNode> AskAsync(string line)
    {
        var answer = await TryAskAsync(line);
        return answer["error"] is { } error && answer is JsonObject { Count: 1 }
            ? throw new InvalidOperationException($"{line[..Math.Min(200, line.Length)]}: {error}")
            : answer;
    }

    protected async Task<JsonNode> TryAskAsync(string line) => JsonNode.Parse(await process.AskAsync(line))!;
}

/// <summary>
/// An OPC UA server on 127.0.0.1. Options (an anonymous object) and commands are those of tests/peers/opcua_server.mjs.
/// </summary>
internal sealed class OpcUaPeerServer : OpcUaPeer
{
    private OpcUaPeerServer(PeerProcess process, TemporaryFolder folder, JsonNode description)
        : base(process, folder)
    {
        EndpointUrl = (string)description["endpointUrl"]!;
        NamespaceIndex = (ushort)description["namespaceIndex"]!;
        CertificateFile = (string)description["certificateFile"]!;
    }

    /// <summary>The namespace of all its nodes but the standard ones.</summary>
    public const string Namespace = "urn:washbridge:tests:plant";

    public const string ApplicationUri = "urn:washbridge:tests:peer-server";

    public string EndpointUrl { get; }

    public int Port => Process.Port;

    public ushort NamespaceIndex { get; }

    /// <summary>Its own certificate, PEM.</summary>
    public string CertificateFile { get; }

    public static async Task<OpcUaPeerServer> StartAsync(object? options = null)
    {
        var (process, folder) = await StartAsync("opcua_server.mjs", options);
        return new OpcUaPeerServer(process, folder, JsonNode.Parse(await process.NextAnswerAsync())!);
    }

    /// <summary>Such as "drop rst" or "set V0 5".</summary>
    public Task<JsonNode> DoAsync(string command) => AskAsync(command);

    /// <summary>As a power cut would.</summary>
    public Task KillAsync() => Process.KillAsync();
}

/// <summary>An OPC UA client. Options and commands are those of tests/peers/opcua_client.mjs.</summary>
internal sealed class OpcUaPeerClient : OpcUaPeer
{
    private OpcUaPeerClient(PeerProcess process, TemporaryFolder folder)
        : base(process, folder)
    {
    }

    public static async Task<OpcUaPeerClient> StartAsync(object? options = null)
    {
        var (process, folder) = await StartAsync("opcua_client.mjs", options);
        return new OpcUaPeerClient(process, folder);
    }

    /// <summary>The answer; throws where it is an error.</summary>
    public Task<JsonNode> DoAsync(object command) => AskAsync(JsonSerializer.Serialize(command, Json));

    /// <summary>The answer, which may be {"error": text}.</summary>
    public Task<JsonNode> TryAsync(object command) => TryAskAsync(JsonSerializer.Serialize(command, Json));
}

/// <summary>The library's binary encoding: see tests/peers/opcua_codec.mjs.</summary>
internal sealed class OpcUaPeerCodec : OpcUaPeer
{
    private OpcUaPeerCodec(PeerProcess process)
        : base(process)
    {
    }

    public static async Task<OpcUaPeerCodec> StartAsync() => new(await PeerProcess.ServeAsync("node", "opcua_codec.mjs"));

    /// <summary>What the library reads from each encoding, in the form of tests/peers/opcua/plain.mjs.</summary>
    public async Task<IReadOnlyList<JsonNode?>> DecodeAsync(string builtInType, IEnumerable<byte[]> encodings)
    {
        var hex = new JsonArray([.. encodings.Select(bytes => (JsonNode)Convert.ToHexStringLower(bytes))]);
        var answer = await AskAsync(new JsonObject { ["do"] = "decode", ["type"] = builtInType, ["hex"] = hex }.ToJsonString(Json));
        return [.. answer["values"]!.AsArray()];
    }

    /// <summary>What the library writes for each value; hexadecimal text or {"error": text}.</summary>
    public async Task<IReadOnlyList<JsonNode?>> EncodeAsync(string builtInType, IEnumerable<JsonNode?> values)
    {
        var copies = new JsonArray([.. values.Select(value => value?.DeepClone())]);
        var answer = await AskAsync(new JsonObject { ["do"] = "encode", ["type"] = builtInType, ["values"] = copies }.ToJsonString(Json));
        return [.. answer["hex"]!.AsArray()];
    }
}
