using System.Diagnostics;
using WashBridge.Benchmarks.Influx;

namespace WashBridge.EndToEnd.Tests.Influx;

/// <summary>nginx (Debian package nginx-light) in front of a 1.x server: answers at the write address of 2.x servers and passes lines on unchanged.</summary>
internal sealed class WriteAddressProxy : IAsyncDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("washbridge-nginx-").FullName;
    private Process? _process;

    private WriteAddressProxy(int port) => Url = new Uri($"http://127.0.0.1:{port}/");

    public Uri Url { get; }

    public static async Task<WriteAddressProxy> StartAsync(Uri server, CancellationToken cancellation)
    {
        var proxy = new WriteAddressProxy(InfluxServer.FreePort());
        try
        {
            var configuration = Path.Combine(proxy._folder, "nginx.conf");
            await File.WriteAllTextAsync(configuration, proxy.Configuration(server), cancellation);

            // One process, so that ending it ends all; its sockets listen before it says its name.
            proxy._process = await ServerProcess.StartAsync(
                Environment.GetEnvironmentVariable("NGINX") ?? "nginx", ["-e", "stderr", "-p", proxy._folder, "-c", configuration], "nginx/", cancellation);
            return proxy;
        }
        catch
        {
            await proxy.DisposeAsync();
            throw;
        }
    }

    public async ValueTask DisposeAsync()
    {
        if (_process is not null)
        {
            await ServerProcess.KillAsync(_process);
        }

        Directory.Delete(_folder, recursive: true);
    }

    private string Configuration(Uri server) => $$"""
        daemon off;
        master_process off;
        pid {{_folder}}/nginx.pid;
        error_log stderr notice;
        events { worker_connections 64; }
        http {
          access_log off;
          client_max_body_size 32m;
          client_body_temp_path {{_folder}}/body;
          proxy_temp_path {{_folder}}/proxy;
          fastcgi_temp_path {{_folder}}/f;
          uwsgi_temp_path {{_folder}}/u;
          scgi_temp_path {{_folder}}/s;
          map $http_authorization $basic { default ""; "~*^Token (?<user>[^:]+):(?<word>.+)$" "&u=$user&p=$word"; }
          map $arg_bucket $database { default ""; "~^(?<d>[^/%]+)" $d; }
          map $arg_bucket $policy { default ""; "~(?:/|%2[Ff])(?<r>.+)$" $r; }
          server {
            listen 127.0.0.1:{{Url.Port}};
            location = /api/v2/write {
              proxy_set_header Authorization "";
              proxy_pass http://127.0.0.1:{{server.Port}}/write?db=$database&rp=$policy&precision=n$basic;
            }
          }
        }
        """;
}
