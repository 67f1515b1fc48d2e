using System.Security.Claims;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Abstractions;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using Microsoft.AspNetCore.Mvc.Razor;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.AspNetCore.Mvc.ViewFeatures;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.TestHost;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using School.Web.Modules.School;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;
using Xunit;

namespace School.Web.Tests.Platform.Layout;

/// <summary>The pages alone, without the rest of the service.</summary>
internal sealed class PageHost : IAsyncDisposable
{
    private readonly WebApplication app;

    private PageHost(WebApplication app) => this.app = app;

    public IServiceProvider Services => app.Services;

    /// <param name="role">The role of whoever asks; nobody is signed in without one.</param>
    public static async Task<PageHost> Start(string? role = null)
    {
        var builder = WebApplication.CreateBuilder(new WebApplicationOptions { ApplicationName = "School.Web" });
        builder.WebHost.UseTestServer();
        builder.Logging.ClearProviders();
        builder.Services.AddDataProtection().UseEphemeralDataProtectionProvider();
        builder.Services.AddPages();
        builder.Services.AddDatabase("Host=127.0.0.1;Port=1;Timeout=1;Pooling=false");
        builder.Services.AddSingleton<SchoolQuery>();
        builder.Services.AddScoped<SchoolInfo>();
        builder.Services.AddScoped<IHeading, HeadingOfSchool>();
        var app = builder.Build();
        app.Use((context, next) =>
        {
            context.User = Person(role);
            return next(context);
        });
        app.UseStatusCodePagesWithReExecute("/error/{0}");
        app.UseRouting();
        app.MapRazorPages();
        await app.StartAsync();
        return new PageHost(app);
    }

    public HttpClient Client() => app.GetTestClient();

    public async Task<string> Partial(string name, object model)
    {
        await using var scope = app.Services.CreateAsyncScope();
        var context = new DefaultHttpContext { RequestServices = scope.ServiceProvider };
        var action = new ActionContext(context, new RouteData(), new ActionDescriptor());
        var view = scope.ServiceProvider.GetRequiredService<IRazorViewEngine>().GetView(null, name, isMainPage: false);
        Assert.True(view.Success, $"{name} not found");
        var data = new ViewDataDictionary(new EmptyModelMetadataProvider(), new ModelStateDictionary()) { Model = model };
        var temp = new TempDataDictionary(context, scope.ServiceProvider.GetRequiredService<ITempDataProvider>());
        await using var text = new StringWriter();
        await view.View.RenderAsync(new ViewContext(action, view.View, data, temp, text, new HtmlHelperOptions()));
        return text.ToString();
    }

    public ValueTask DisposeAsync() => app.DisposeAsync();

    private static ClaimsPrincipal Person(string? role) =>
        new(role is null ? new ClaimsIdentity() : new ClaimsIdentity(
            [
                new(ClaimTypes.NameIdentifier, Guid.NewGuid().ToString()),
                new(AccessClaims.Parts, (role == "office" ? (int)OfficeParts.All : 0).ToString(System.Globalization.CultureInfo.InvariantCulture)),
                .. role == "instructor" ? [new Claim(AccessClaims.Instructor, Guid.NewGuid().ToString())] : Array.Empty<Claim>(),
                .. role == "pupil" ? [new Claim(AccessClaims.Pupil, Guid.NewGuid().ToString())] : Array.Empty<Claim>(),
            ],
            "test"));
}
