using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Logging;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Security;

/// <summary>The samples of proxies write down no secret of an address (OWASP ASVS 5.0 V14.2.1, V16.2.5). The one of nginx is run where nginx is installed.</summary>
public sealed partial class ProxySampleTests
{
    private const string Secret = "a3c5e7090b1d2f4a6c8e";

    private static readonly string[] Secrets =
    [
        $"/people/reset?person=0190&token={Secret}", $"/people/accept?person=0190&token={Secret}", $"/calendar/{Secret}.ics", $"/diary/offers/0190?key={Secret}",
        $"/calendar/{Secret}", $"/people/reset/?{Secret}",
    ];

    [Fact]
    public void No_sample_logs_what_stands_behind_the_question_mark()
    {
        var nginx = Sample("nginx.conf");
        var format = LogFormat().Match(nginx).Groups[1].Value;
        Assert.Contains("$school_logged_uri", format, StringComparison.Ordinal);
        Assert.DoesNotMatch(@"\$(request|request_uri|uri|args|query_string|http_referer|sent_http_location)\b", format);
        Assert.Equal(Servers().Count(nginx), AccessLog().Matches(nginx).Count(log => log.Groups[1].Value.EndsWith(" school", StringComparison.Ordinal)));

        // Both logs of Caddy: that of requests and its own, which tells the request that failed.
        var caddy = Sample("Caddyfile");
        Assert.Equal(2, FilteredAddress().Count(caddy));
        Assert.Equal(2, FilteredAddress().Matches(caddy).Select(filter => new Regex(filter.Groups[1].Value, RegexOptions.None, TimeSpan.FromSeconds(1)))
            .Count(filter => Secrets.All(address => !filter.Replace(address, "$1").Contains(Secret, StringComparison.Ordinal))));
        Assert.Equal(2, Regex.Count(caddy, "request>headers delete"));
        Assert.Equal(2, Regex.Count(caddy, "resp_headers delete"));
    }

    [Fact]
    public async Task Nginx_takes_its_sample_and_logs_no_secret_whether_the_service_answers_or_not()
    {
        if (Nginx() is not { } nginx)
        {
            return; // What can be told without it, the test above tells.
        }

        var folder = Directory.CreateTempSubdirectory("school-nginx-");
        try
        {
            await using var service = await ServiceAsync();
            var (plain, tls) = (FreePort(), FreePort());
            var site = Sample("nginx.conf")
                .Replace("/var/log/nginx", folder.FullName, StringComparison.Ordinal)
                .Replace("/etc/ssl/school", folder.FullName, StringComparison.Ordinal)
                .Replace("listen [::]:80;", "", StringComparison.Ordinal).Replace("listen [::]:443 ssl http2;", "", StringComparison.Ordinal)
                .Replace("listen 80;", $"listen 127.0.0.1:{plain};", StringComparison.Ordinal)
                .Replace("listen 443 ssl", $"listen 127.0.0.1:{tls} ssl", StringComparison.Ordinal)
                .Replace("127.0.0.1:5080", new Uri(service.Urls.First()).Authority, StringComparison.Ordinal);
            WriteCertificate(folder.FullName);
            var file = Path.Combine(folder.FullName, "nginx.conf");
            // What Debian's own nginx.conf sets around a site, its log of every request included.
            await File.WriteAllTextAsync(file, $$"""
                pid {{folder.FullName}}/nginx.pid;
                error_log {{folder.FullName}}/error.log;
                events { }
                http {
                    access_log {{folder.FullName}}/access.log;
                    client_body_temp_path {{folder.FullName}}; proxy_temp_path {{folder.FullName}}; fastcgi_temp_path {{folder.FullName}};
                    uwsgi_temp_path {{folder.FullName}}; scgi_temp_path {{folder.FullName}};
                {{site}}
                }
                """);
            using (var check = Run(nginx, "-t", "-c", file))
            {
                var said = await check.StandardError.ReadToEndAsync();
                await check.WaitForExitAsync();
                Assert.True(check.ExitCode == 0, said);
            }

            using var running = Run(nginx, "-c", file, "-g", "daemon off;");
            try
            {
                using var client = new HttpClient(new HttpClientHandler { AllowAutoRedirect = false, ServerCertificateCustomValidationCallback = (_, _, _, _) => true });
                client.DefaultRequestHeaders.Host = "school.larkfield.example";
                var ready = Stopwatch.StartNew();
                while (!await AnswersAsync(plain) && ready.Elapsed < TimeSpan.FromSeconds(20))
                {
                    await Task.Delay(50);
                }

                foreach (var address in Secrets)
                {
                    Assert.Equal(HttpStatusCode.MovedPermanently, (await client.GetAsync($"http://127.0.0.1:{plain}{address}")).StatusCode);
                    var answer = await client.GetAsync($"https://127.0.0.1:{tls}{address}");
                    Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
                    Assert.Equal("max-age=31536000", answer.Headers.GetValues("Strict-Transport-Security").Single());
                }

                await service.StopAsync();
                foreach (var address in Secrets)
                {
                    var answer = await client.GetAsync($"https://127.0.0.1:{tls}{address}");
                    Assert.Equal(HttpStatusCode.BadGateway, answer.StatusCode);
                    Assert.Equal("max-age=31536000", answer.Headers.GetValues("Strict-Transport-Security").Single());
                }
            }
            finally
            {
                running.Kill(entireProcessTree: true);
                await running.WaitForExitAsync();
            }

            var log = await File.ReadAllTextAsync(Path.Combine(folder.FullName, "school.log"));
            Assert.Contains("\"GET /people/reset\" 200", log, StringComparison.Ordinal);
            Assert.Contains("\"GET /people/reset\" 502", log, StringComparison.Ordinal);
            Assert.Contains("\"GET /people/reset\" 301", log, StringComparison.Ordinal);
            foreach (var written in folder.GetFiles("*.log"))
            {
                Assert.DoesNotContain(Secret, await File.ReadAllTextAsync(written.FullName), StringComparison.Ordinal);
            }
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private static async Task<WebApplication> ServiceAsync()
    {
        var builder = WebApplication.CreateEmptyBuilder(new());
        builder.WebHost.UseKestrelCore().UseUrls("http://127.0.0.1:0");
        builder.Logging.ClearProviders();
        var service = builder.Build();
        service.Run(context =>
        {
            context.Response.Headers.StrictTransportSecurity = "max-age=31536000";
            return context.Response.WriteAsync("here");
        });
        await service.StartAsync();
        return service;
    }

    private static void WriteCertificate(string folder)
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest("CN=school.larkfield.example", key, HashAlgorithmName.SHA256);
#pragma warning disable RS0030 // The framework's own signature.
        using var certificate = request.CreateSelfSigned(DateTimeOffset.UtcNow.AddDays(-1), DateTimeOffset.UtcNow.AddDays(1));
#pragma warning restore RS0030
        File.WriteAllText(Path.Combine(folder, "fullchain.pem"), certificate.ExportCertificatePem());
        File.WriteAllText(Path.Combine(folder, "privkey.pem"), key.ExportPkcs8PrivateKeyPem());
    }

    private static async Task<bool> AnswersAsync(int port)
    {
        using var socket = new TcpClient();
        try
        {
            await socket.ConnectAsync(IPAddress.Loopback, port);
            return true;
        }
        catch (SocketException)
        {
            return false;
        }
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    private static Process Run(string program, params string[] arguments) =>
        Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardError = true })!;

    private static string? Nginx() => Array.Find(["/usr/sbin/nginx", "/usr/bin/nginx", "/usr/local/sbin/nginx"], File.Exists);

    private static string Sample(string name) => File.ReadAllText(Path.Combine(Sources.Root, "deploy", "proxy", name));

    [GeneratedRegex("log_format school '([^']*)'")]
    private static partial Regex LogFormat();

    [GeneratedRegex(@"^server \{", RegexOptions.Multiline)]
    private static partial Regex Servers();

    [GeneratedRegex(@"access_log ([^;]*);")]
    private static partial Regex AccessLog();

    [GeneratedRegex("request>uri regexp \"([^\"]*)\" \"\\$1\"")]
    private static partial Regex FilteredAddress();
}
