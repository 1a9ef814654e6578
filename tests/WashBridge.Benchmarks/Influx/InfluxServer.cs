using System.Diagnostics;
using System.Net;
using System.Net.Http.Headers;
using System.Net.Sockets;
using System.Text;
using System.Text.Json;

namespace WashBridge.Benchmarks.Influx;

/// <summary>
/// A real InfluxDB 1.x server (Debian package influxdb) on a free loopback port with a folder of its own. It can be killed and started again on the
/// same data. INFLUXD names another program than the one on the PATH.
/// </summary>
internal sealed class InfluxServer : IAsyncDisposable
{
    public const string Admin = "admin";
    public const string Password = "let-me-in";

    private readonly string _folder = Directory.CreateTempSubdirectory("washbridge-influx-").FullName;
    private readonly HttpClient _http = new();
    private Process? _process;

    private InfluxServer(int port, bool authentication, TimeSpan? compactAfter)
    {
        Url = new Uri($"http://127.0.0.1:{port}/");
        File.WriteAllText(ConfigurationPath, $"""
            reporting-disabled = true
            bind-address = "127.0.0.1:0"
            [meta]
              dir = "{_folder}/meta"
            [data]
              dir = "{_folder}/data"
              wal-dir = "{_folder}/wal"
              query-log-enabled = false
              {(compactAfter is { } cold ? $"cache-snapshot-write-cold-duration = \"{cold.TotalSeconds}s\"\n  compact-full-write-cold-duration = \"{cold.TotalSeconds}s\"" : "")}
            [monitor]
              store-enabled = false
            [subscriber]
              enabled = false
            [continuous_queries]
              enabled = false
            [http]
              bind-address = "127.0.0.1:{port}"
              log-enabled = false
              auth-enabled = {(authentication ? "true" : "false")}
            """);
        if (authentication)
        {
            _http.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Basic", Convert.ToBase64String(Encoding.UTF8.GetBytes($"{Admin}:{Password}")));
        }
    }

    public Uri Url { get; }

    /// <summary>Of the server that runs now.</summary>
    public int ProcessId => _process?.Id ?? throw new InvalidOperationException("the server does not run");

    /// <summary>Where its data lie.</summary>
    public string Folder => _folder;

    private string ConfigurationPath => Path.Combine(_folder, "influxdb.conf");

    /// <param name="compactAfter">Data that were not written to for so long are packed as closely as they will ever be; null: after the server's own 4 hours.</param>
    public static async Task<InfluxServer> StartAsync(CancellationToken cancellation, bool authentication = false, TimeSpan? compactAfter = null)
    {
        var server = new InfluxServer(FreePort(), authentication, compactAfter);
        try
        {
            await server.StartAsync(cancellation);
            if (authentication)
            {
                await server.QueryAsync($"CREATE USER {Admin} WITH PASSWORD '{Password}' WITH ALL PRIVILEGES", cancellation);
            }

            return server;
        }
        catch
        {
            await server.DisposeAsync();
            throw;
        }
    }

    public static int FreePort()
    {
        using var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp);
        socket.Bind(new IPEndPoint(IPAddress.Loopback, 0));
        return ((IPEndPoint)socket.LocalEndPoint!).Port;
    }

    /// <summary>Returns when the server listens.</summary>
    public async Task StartAsync(CancellationToken cancellation) =>
        _process = await ServerProcess.StartAsync(Environment.GetEnvironmentVariable("INFLUXD") ?? "influxd", ["-config", ConfigurationPath], "Listening on HTTP", cancellation);

    /// <summary>
    /// Starts again after a kill, in two steps. Server 1.6.7 cuts an entry of its write-ahead log that the kill has torn off, but goes on writing
    /// behind where it ended; the next kill then costs everything confirmed in between. A start without a write in between mends the file.
    /// </summary>
    public async Task StartAgainAsync(CancellationToken cancellation)
    {
        await StartAsync(cancellation);
        await KillAsync();
        await StartAsync(cancellation);
    }

    /// <summary>SIGKILL: no goodbye, nothing flushed.</summary>
    public async Task KillAsync()
    {
        if (_process is { } process)
        {
            _process = null;
            await ServerProcess.KillAsync(process);
        }
    }

    public Task CreateDatabaseAsync(string name, CancellationToken cancellation) => QueryAsync($"CREATE DATABASE \"{name}\"", cancellation);

    /// <summary>The rows of a query, by column name. A name that does not exist is answered with 200 and no series: that is an error here.</summary>
    public async Task<IReadOnlyList<IReadOnlyDictionary<string, JsonElement>>> RowsAsync(string database, string query, CancellationToken cancellation)
    {
        var rows = await RowsOrNoneAsync(database, query, cancellation);
        return rows.Count > 0 ? rows : throw new InvalidOperationException($"no series for: {query}");
    }

    public async Task<IReadOnlyList<IReadOnlyDictionary<string, JsonElement>>> RowsOrNoneAsync(string database, string query, CancellationToken cancellation)
    {
        using var json = JsonDocument.Parse(await QueryAsync(query, cancellation, database));
        var result = json.RootElement.GetProperty("results")[0];
        if (result.TryGetProperty("error", out var error))
        {
            throw new InvalidOperationException($"{error}: {query}");
        }

        if (!result.TryGetProperty("series", out var series))
        {
            return [];
        }

        var columns = series[0].GetProperty("columns").EnumerateArray().Select(c => c.GetString()!).ToList();
        return [.. series[0].GetProperty("values").EnumerateArray().Select(v => v.EnumerateArray().Select((e, i) => (Name: columns[i], Value: e.Clone())).ToDictionary(p => p.Name, p => p.Value))];
    }

    /// <summary>Lines straight to the server, as any other client might write them.</summary>
    public async Task WriteAsync(string database, string lines, CancellationToken cancellation)
    {
        using var response = await _http.PostAsync(new Uri(Url, $"write?db={database}"), new StringContent(lines), cancellation);
        if (response.StatusCode != HttpStatusCode.NoContent)
        {
            throw new InvalidOperationException($"{response.StatusCode}: {await response.Content.ReadAsStringAsync(cancellation)}");
        }
    }

    public async Task<string> QueryAsync(string query, CancellationToken cancellation, string database = "")
    {
        using var content = new FormUrlEncodedContent([new("q", query), new("db", database), new("epoch", "ns")]);
        using var response = await _http.PostAsync(new Uri(Url, "query"), content, cancellation);
        return await response.EnsureSuccessStatusCode().Content.ReadAsStringAsync(cancellation);
    }

    public async ValueTask DisposeAsync()
    {
        await KillAsync();
        _http.Dispose();
        Directory.Delete(_folder, recursive: true);
    }
}
