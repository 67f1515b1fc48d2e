using System.Net;
using System.Text.RegularExpressions;

namespace School.Web.Tests.Host;

/// <summary>Fills in and sends forms as a browser does: reads the page first and sends its antiforgery token along.</summary>
internal static partial class PageForms
{
    public static Task<HttpResponseMessage> PostFormAsync(this HttpClient browser, string page, params (string Name, string Value)[] fields) =>
        browser.PostFormAsync(page, page, fields);

    /// <summary>Sends a form of one page to another address, or to a named handler of the same one.</summary>
    public static async Task<HttpResponseMessage> PostFormAsync(this HttpClient browser, string page, string to, params (string Name, string Value)[] fields)
    {
        var token = await browser.FormTokenAsync(page);
        return await browser.PostAsync(to, new FormUrlEncodedContent(
            [.. fields.Select(f => KeyValuePair.Create(f.Name, f.Value)), KeyValuePair.Create("__RequestVerificationToken", token)]));
    }

    /// <summary>The antiforgery token of a page's form.</summary>
    public static async Task<string> FormTokenAsync(this HttpClient browser, string page)
    {
        var shown = await browser.GetAsync(page);
        var html = await shown.Content.ReadAsStringAsync();
        var token = Token().Match(html);
        Assert.True(token.Success, $"{page} answered {(int)shown.StatusCode} {shown.Headers.Location} and holds no form.\n{html}");
        return token.Groups[1].Value;
    }

    public static async Task<string> TextAsync(this HttpResponseMessage answer) => WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync());

    [GeneratedRegex("name=\"__RequestVerificationToken\" type=\"hidden\" value=\"([^\"]+)\"")]
    private static partial Regex Token();
}
