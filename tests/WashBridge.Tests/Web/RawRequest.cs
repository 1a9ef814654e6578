using System.Net;
using System.Net.Sockets;
using System.Text;

namespace WashBridge.Tests.Web;

/// <summary>What no client library sends.</summary>
internal static class RawRequest
{
    /// <returns>All that comes back until the server ends the connection; nothing where it cuts it.</returns>
    public static async Task<string> SendAsync(WebTrial trial, string request)
    {
        using var socket = new TcpClient();
        await socket.ConnectAsync(IPAddress.Loopback, trial.Site.Http!.Port, WebTrial.Cancellation);
        await using var stream = socket.GetStream();
        await stream.WriteAsync(Encoding.ASCII.GetBytes(request), WebTrial.Cancellation);
        using var reader = new StreamReader(stream, Encoding.UTF8);
        try
        {
            return await reader.ReadToEndAsync(WebTrial.Cancellation);
        }
        catch (IOException)
        {
            return "";
        }
    }
}
