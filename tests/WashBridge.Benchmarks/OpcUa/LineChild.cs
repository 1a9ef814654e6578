using System.Text.Json;
using System.Text.Json.Nodes;

namespace WashBridge.Benchmarks.OpcUa;

/// <summary>The other side of <see cref="LinePeer"/>: a bench that is run in a process of its own.</summary>
internal static class LineChild
{
    /// <summary>Answers each line until the input ends.</summary>
    public static async Task ServeAsync(Func<JsonNode, Task<object?>> answer, CancellationToken cancellation)
    {
        Console.WriteLine("READY");
        while (await Console.In.ReadLineAsync(cancellation) is { } line)
        {
            object? result;
            try
            {
                result = await answer(JsonNode.Parse(line)!);
            }
            catch (Exception e)
            {
                result = new { error = e.ToString() };
            }

            Console.WriteLine(JsonSerializer.Serialize(result ?? new object(), JsonSerializerOptions.Web));
        }
    }
}
