using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.ApplicationModels;
using Microsoft.AspNetCore.Mvc.Razor;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Extensions.Options;
using School.Web.Platform.Forms;
using School.Web.Platform.Forms.Kept;

namespace School.Web.Platform.Layout;

/// <summary>Razor Pages as this service uses them: rooted at the modules, dashed lower-case addresses, our forms and layout.</summary>
internal static partial class PagesSetup
{
    public static IMvcBuilder AddPages(this IServiceCollection services)
    {
        services.AddSingleton<Navigation>();
        services.AddScoped<SchoolName>();
        services.Configure<RouteOptions>(options => options.LowercaseUrls = true);
        services.Configure<RazorViewEngineOptions>(options =>
        {
            foreach (var folder in (ReadOnlySpan<string>)["", "Strip/", "Time/"])
            {
                options.PageViewLocationFormats.Add($"/Platform/Layout/{folder}{{0}}.cshtml");
                options.ViewLocationFormats.Add($"/Platform/Layout/{folder}{{0}}.cshtml");
            }
        });
        services.PostConfigure<MvcOptions>(FormSetup.Apply);
        services.AddKeptForms();
        services.Configure<MvcOptions>(options => options.Filters.Add<WhatStands.Filter>());
        services.Configure<MvcOptions>(options => options.Filters.Add<PageRequests>());
        services.Configure<MvcOptions>(options => options.Filters.Add<ComesBack>());
        var pages = services.AddRazorPages(options =>
        {
            options.RootDirectory = "/Modules";
            options.Conventions.Add(new PageRouteTransformerConvention(new Dashes()));
        });
        // After the framework's own setup, which begins the list of conventions anew.
        services.AddOptions<RazorPagesOptions>().Configure<IOptions<PageRooms>>((options, rooms) =>
            options.Conventions.Add(new RoomlessAddresses(rooms.Value)));
        return pages;
    }

    /// <summary><c>Diary/RunningLate.cshtml</c> is <c>/diary/running-late</c>.</summary>
    private sealed partial class Dashes : IOutboundParameterTransformer
    {
        public string? TransformOutbound(object? value) =>
            value?.ToString() is { } words ? WordStart().Replace(words, "-").ToLowerInvariant() : null;

        [GeneratedRegex("(?<=[a-z0-9])(?=[A-Z])")]
        private static partial Regex WordStart();
    }
}
