namespace WashBridge.Web.Api;

/// <summary>A request to the API cannot be answered.</summary>
/// <param name="message">What was found and what is allowed.</param>
internal sealed class ApiException(string message, int status = StatusCodes.Status400BadRequest) : Exception(message)
{
    public int Status => status;
}
