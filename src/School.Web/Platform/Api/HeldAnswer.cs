using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.Http.Features.Authentication;
using Microsoft.AspNetCore.Routing;

namespace School.Web.Platform.Api;

/// <summary>
/// One run of an endpoint whose answer is held back: a request of its own over the kept body, services of their own, and an answer
/// of which nothing has left. What it leaves behind is either given out as a whole or forgotten as a whole.
/// </summary>
internal sealed class HeldAnswer : IAsyncDisposable
{
    private readonly HttpContext _asked;
    private readonly AsyncServiceScope _scope;
    private readonly MemoryStream _body = new();
    private readonly Response _response;
    private readonly IHttpContextAccessor _accessor;

    public HeldAnswer(HttpContext asked, byte[] body)
    {
        _asked = asked;
        _scope = asked.RequestServices.GetRequiredService<IServiceScopeFactory>().CreateAsyncScope();
        _response = new Response(asked.Response, _body);
        var features = new FeatureCollection(asked.Features);
        features.Set<IHttpRequestFeature>(Again(asked.Features.GetRequiredFeature<IHttpRequestFeature>(), body));
        features.Set<IHttpResponseFeature>(_response);
        features.Set<IHttpResponseBodyFeature>(new StreamResponseBodyFeature(_body));
        features.Set<IItemsFeature>(new ItemsFeature { Items = new Dictionary<object, object?>(asked.Items) });
        features.Set<IRouteValuesFeature>(new RouteValuesFeature { RouteValues = new(asked.Request.RouteValues) });
        features.Set<IHttpAuthenticationFeature>(new HttpAuthenticationFeature { User = asked.User });
        features.Set<IServiceProvidersFeature>(new Services(_scope.ServiceProvider));
        Context = new DefaultHttpContext(features);
        features.Set<IRequestBodyPipeFeature>(new RequestBodyPipeFeature(Context));
        features.Set<IResponseCookiesFeature>(new ResponseCookiesFeature(features));
        _accessor = asked.RequestServices.GetRequiredService<IHttpContextAccessor>();
        _accessor.HttpContext = Context;
    }

    public HttpContext Context { get; }

    public ReadOnlyMemory<byte> Body => _body.GetBuffer().AsMemory(0, (int)_body.Length);

    /// <summary>Runs what the endpoint left for the moment before its answer starts, such as writing cookies.</summary>
    public async Task FinishAsync()
    {
        await Context.Response.CompleteAsync();
        await _response.StartAsync();
    }

    /// <summary>Gives the answer out.</summary>
    public async Task SendAsync()
    {
        var answer = _asked.Response;
        answer.StatusCode = _response.StatusCode;
        answer.Headers.Clear();
        foreach (var (name, value) in _response.Headers)
        {
            answer.Headers[name] = value;
        }

        // To an answer without a body the server lets nothing be written, not even nothing.
        if (!Body.IsEmpty)
        {
            await answer.Body.WriteAsync(Body, _asked.RequestAborted);
        }
    }

    public async ValueTask DisposeAsync()
    {
        _accessor.HttpContext = _asked;
        await _scope.DisposeAsync();
        await _body.DisposeAsync();
    }

    private static HttpRequestFeature Again(IHttpRequestFeature asked, byte[] body) => new()
    {
        Protocol = asked.Protocol,
        Scheme = asked.Scheme,
        Method = asked.Method,
        PathBase = asked.PathBase,
        Path = asked.Path,
        QueryString = asked.QueryString,
        RawTarget = asked.RawTarget,
        Headers = asked.Headers,
        Body = new MemoryStream(body, writable: false),
    };

    private sealed record Services(IServiceProvider RequestServices) : IServiceProvidersFeature
    {
        public IServiceProvider RequestServices { get; set; } = RequestServices;
    }

    /// <summary>Begins with the headers that are set already; keeps to itself what the endpoint adds.</summary>
    private sealed class Response(HttpResponse asked, Stream body) : IHttpResponseFeature
    {
        private readonly Stack<(Func<object, Task> Callback, object State)> _starting = new();

        public int StatusCode { get; set; } = asked.StatusCode;

        public string? ReasonPhrase { get; set; }

        public IHeaderDictionary Headers { get; set; } = new HeaderDictionary(asked.Headers.ToDictionary(h => h.Key, h => h.Value, StringComparer.OrdinalIgnoreCase));

        [Obsolete("The framework asks for IHttpResponseBodyFeature.")]
        public Stream Body { get; set; } = body;

        public bool HasStarted { get; private set; }

        public void OnStarting(Func<object, Task> callback, object state) => _starting.Push((callback, state));

        // What is to be tidied up after a run is tidied up after the request, whether its answer was given out or not.
        public void OnCompleted(Func<object, Task> callback, object state) => asked.OnCompleted(callback, state);

        public async Task StartAsync()
        {
            while (_starting.TryPop(out var last))
            {
                await last.Callback(last.State);
            }

            HasStarted = true;
        }
    }
}
