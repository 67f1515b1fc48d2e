namespace School.Web.Platform.Api;

/// <summary>The few addresses that take a file larger than any form, each with a limit of its own. What is sent there is never held in memory.</summary>
internal sealed class LargeBodies
{
    private readonly Dictionary<string, long> _byPath = new(StringComparer.OrdinalIgnoreCase);

    public void Allow(string path, long bytes) => _byPath[path] = bytes;

    public long? LimitOf(HttpRequest request) =>
        (HttpMethods.IsPost(request.Method) || HttpMethods.IsPut(request.Method)) && _byPath.TryGetValue(request.Path.Value!.TrimEnd('/'), out var bytes) ? bytes : null;
}
