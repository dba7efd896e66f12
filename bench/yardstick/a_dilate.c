// Cutter-location (tool-tip) height field = grey-scale dilation of the target height field by the inverted tool profile.
//    cl(X,Y) = max over (u,v) in tool disc of  z(X+u,Y+v) - t(hypot(u,v))
// usage: a_dilate map.bin [NX NY h R_mm]
#include "common.h"
#if defined(__AVX512F__)
#include <immintrin.h>
typedef __m512 v16;
static inline v16 vmax(v16 a,v16 b){return _mm512_max_ps(a,b);}
static inline v16 vadd(v16 a,v16 b){return _mm512_add_ps(a,b);}
static inline v16 ldu(const float*p){return _mm512_loadu_ps(p);}
static inline void stu(float*p,v16 v){_mm512_storeu_ps(p,v);}
static inline v16 bc(float f){return _mm512_set1_ps(f);}
static inline float rmin(v16 v){return _mm512_reduce_min_ps(v);}
static inline unsigned gtmask(v16 a,float b){return _mm512_cmp_ps_mask(a,_mm512_set1_ps(b),_CMP_GT_OQ);}
#elif defined(__AVX2__)
#include <immintrin.h>
typedef struct{__m256 a,b;}v16;
static inline v16 vmax(v16 x,v16 y){return (v16){_mm256_max_ps(x.a,y.a),_mm256_max_ps(x.b,y.b)};}
static inline v16 vadd(v16 x,v16 y){return (v16){_mm256_add_ps(x.a,y.a),_mm256_add_ps(x.b,y.b)};}
static inline v16 ldu(const float*p){return (v16){_mm256_loadu_ps(p),_mm256_loadu_ps(p+8)};}
static inline void stu(float*p,v16 v){_mm256_storeu_ps(p,v.a);_mm256_storeu_ps(p+8,v.b);}
static inline v16 bc(float f){__m256 q=_mm256_set1_ps(f);return (v16){q,q};}
static inline float rmin(v16 v){__m256 a=_mm256_min_ps(v.a,v.b);__m128 b=_mm_min_ps(_mm256_castps256_ps128(a),_mm256_extractf128_ps(a,1));b=_mm_min_ps(b,_mm_movehl_ps(b,b));b=_mm_min_ss(b,_mm_shuffle_ps(b,b,1));return _mm_cvtss_f32(b);}
static inline unsigned gtmask(v16 v,float b){__m256 t=_mm256_set1_ps(b);return (unsigned)_mm256_movemask_ps(_mm256_cmp_ps(v.a,t,_CMP_GT_OQ))|(unsigned)_mm256_movemask_ps(_mm256_cmp_ps(v.b,t,_CMP_GT_OQ))<<8;}
#else
typedef struct{float f[16];}v16;
static inline v16 vmax(v16 a,v16 b){for(int i=0;i<16;i++)a.f[i]=a.f[i]>b.f[i]?a.f[i]:b.f[i];return a;}
static inline v16 vadd(v16 a,v16 b){for(int i=0;i<16;i++)a.f[i]+=b.f[i];return a;}
static inline v16 ldu(const float*p){v16 v;memcpy(&v,p,64);return v;}
static inline void stu(float*p,v16 v){memcpy(p,&v,64);}
static inline v16 bc(float f){v16 v;for(int i=0;i<16;i++)v.f[i]=f;return v;}
static inline float rmin(v16 v){float m=v.f[0];for(int i=1;i<16;i++)m=m<v.f[i]?m:v.f[i];return m;}
static inline unsigned gtmask(v16 a,float b){unsigned m=0;for(int i=0;i<16;i++)m|=(unsigned)(a.f[i]>b)<<i;return m;}
#endif
static inline float hmin(v16 v){float m=rmin(v);return m>-5e8f?m:-5e8f;} // clamp: lanes outside the map must not re-enable "never" bounds
static int NX=7000,NY=1100; static float h=0.1f;
static int K;                // tool radius in cells
#define PADX 64
#define PADY 48
static int S;                // padded stride
static float*P;              // padded map, P[(y+PADY)*S + x+PADX]
static inline float*row(int y){return P+(size_t)(y+PADY)*S+PADX;}
#define NEG -1e9f

typedef struct{int kind;float R,rc;}Tool; // kind 0 ball, 1 flat, 2 bull
static float prof(Tool T,float r){ if(r>T.R+1e-4f)return 1e9f; if(T.kind==0)return T.R-sqrtf(fmaxf(0,T.R*T.R-r*r));
  if(T.kind==1)return 0; float q=r-(T.R-T.rc); if(q<=0)return 0; return T.rc-sqrtf(fmaxf(0,T.rc*T.rc-q*q));}
// nt[v+K1][u+128] = -t ; K1=K+1
#define TW 256
typedef struct{float*nt;int vlo,vhi;float fy;int*w;}Tab; // fy: fractional row offset of the output
static Tab mktab(Tool T,float fy){Tab q;q.fy=fy;q.vlo=-K-1;q.vhi=K+2;int n=q.vhi-q.vlo+1;q.nt=amalloc(n*TW*4);q.w=malloc(n*4);
  for(int v=q.vlo;v<=q.vhi;v++){int w=-1;for(int u=-128;u<128;u++){float r=hypotf(u*h,(v-fy)*h);float t=prof(T,r);q.nt[(v-q.vlo)*TW+u+128]=t>1e8f?NEG:-t;if(t<1e8f&&u>w)w=u;}q.w[v-q.vlo]=w;}
  return q;}
// ---------- brute force, register blocked 64 outputs
__attribute__((noinline)) static void brute_row(const Tab*T,int y,float*out,int x0,int x1){
  for(int x=x0;x<x1;x+=64){v16 a0=bc(NEG),a1=a0,a2=a0,a3=a0;
    for(int v=T->vlo;v<=T->vhi;v++){int w=T->w[v-T->vlo];const float*nt=T->nt+(v-T->vlo)*TW+128;const float*z=row(y+v)+x;
      for(int u=-w;u<=w;u++){v16 n=bc(nt[u]);a0=vmax(a0,vadd(ldu(z+u),n));a1=vmax(a1,vadd(ldu(z+u+16),n));a2=vmax(a2,vadd(ldu(z+u+32),n));a3=vmax(a3,vadd(ldu(z+u+48),n));}}
    float tmp[64];stu(tmp,a0);stu(tmp+16,a1);stu(tmp+32,a2);stu(tmp+48,a3);int m=x1-x<64?x1-x:64;memcpy(out+x,tmp,m*4);}
}
// scalar brute (what plain JS would do)
__attribute__((noinline,optimize("no-tree-vectorize"))) static float brute_pt(const Tab*T,int x,int y){float m=NEG;for(int v=T->vlo;v<=T->vhi;v++){int w=T->w[v-T->vlo];const float*nt=T->nt+(v-T->vlo)*TW+128;const float*z=row(y+v)+x;for(int u=-w;u<=w;u++){float q=z[u]+nt[u];if(q>m)m=q;}}return m;}
// ---------- branch and bound over block maxima
static int BX,BY,LP1,LP2;static float*L1,*L2;     // transposed: L1[bx][padded row] = max of 1x16 block, L2[bx][row/8] = max of 8x16 block
static void pyramid(void){BX=S/16;int PR=NY+2*PADY;BY=(PR+7)/8;LP1=(PR+63)/16*16;LP2=(BY+47)/16*16;
  if(!L1){L1=amalloc((size_t)LP1*BX*4);L2=amalloc((size_t)LP2*BX*4);for(size_t i=0;i<(size_t)LP1*BX;i++)L1[i]=NEG;}
  for(int i=0;i<LP2*BX;i++)L2[i]=NEG;
  for(int y=0;y<PR;y++)for(int b=0;b<BX;b++){const float*p=P+(size_t)y*S+b*16;float m=p[0];for(int k=1;k<16;k++)m=m>p[k]?m:p[k];L1[(size_t)b*LP1+y]=m;}
  for(int b=0;b<BX;b++)for(int k=0;k<BY;k++){const float*p=L1+(size_t)b*LP1+k*8;float m=p[0];for(int j=1;j<8;j++)m=m>p[j]?m:p[j];L2[(size_t)b*LP2+k]=m;}}
static long long st_eval,st_l1,st_l2,st_chunk;
// bound tables for a given Tab: B1[v][|d|] = max nt over row v, column distance of block d ; B2[rowdist..]
#define ND 4
typedef struct{Tab T;float*b1; float b2[8][ND][16];float*rev;}BB; // b2[phase of y in 8][row block index][d]
static BB mkbb(Tab T){BB b;b.T=T;int n=T.vhi-T.vlo+1;b.b1=amalloc((n+16)*ND*4);
  for(int v=0;v<n;v++)for(int d=0;d<ND;d++){int u=d==0?0:(d-1)*16+1;b.b1[d*(n+16)+v]=T.nt[v*TW+u+128];}
  for(int d=0;d<ND;d++)for(int v=n;v<n+16;v++)b.b1[d*(n+16)+v]=NEG;
  for(int ph=0;ph<8;ph++)for(int k=0;k<16;k++)for(int d=0;d<ND;d++)b.b2[ph][d][k]=NEG;
  // padded row of output Y=y+PADY ; rows Y+v ; block index k = ((Y+v)>>3) - ((Y+vlo)>>3)
  for(int ph=0;ph<8;ph++){ // ph=(Y+vlo)&7
    for(int v=0;v<n;v++){int k=(ph+v)>>3;for(int d=0;d<ND;d++){float q=b.b1[d*(n+16)+v];if(q>b.b2[ph][d][k])b.b2[ph][d][k]=q;}}}
  b.rev=amalloc(n*TW*4);for(int v=0;v<n;v++)for(int u=0;u<TW;u++)b.rev[v*TW+u]=T.nt[v*TW+((256-u)&255)]; // rev[v][128-u] = nt[v][u]
  return b;}
static int SW=512; // strip width: keeps the working rows in L2
__attribute__((noinline)) static void bb_row(const BB*B,int y,float*out,int xa,int xb){
  const Tab*T=&B->T;int n=T->vhi-T->vlo+1;int Y0=y+PADY+T->vlo;int ph=Y0&7,kb=Y0>>3;
  const float*rev=B->rev;
  for(int x=xa;x<xb;x+=16){int bx=(x+PADX)>>4;
    v16 best=bc(NEG);const float*z0=P+(size_t)Y0*S+PADX+x;
    // seed: column through the axis, every 3rd row plus the axis row
    for(int v=1;v<n;v+=3)best=vmax(best,vadd(ldu(z0+(size_t)v*S),bc(T->nt[v*TW+128])));
    float mb=hmin(best);
    for(int o=0;o<7;o++){static const int od[7]={0,-1,1,-2,2,-3,3};int d=od[o],ad=d<0?-d:d;
      unsigned m2=gtmask(vadd(ldu(L2+(size_t)(bx+d)*LP2+kb),ldu(B->b2[ph][ad])),mb);
      while(m2){int k=__builtin_ctz(m2);m2&=m2-1;
        int v0=k*8-ph;if(v0<0)v0=0;
        unsigned m1=gtmask(vadd(ldu(L1+(size_t)(bx+d)*LP1+Y0+v0),ldu(B->b1+ad*(n+16)+v0)),mb)&(v0==0&&ph?(1u<<(8-ph))-1:0xffu);
        if(!m1)continue;
        do{int v=v0+__builtin_ctz(m1);m1&=m1-1;
          const float*zs=P+(size_t)(Y0+v)*S+(bx+d)*16;const float*nr=rev+v*TW+128-d*16; // source k, lane l: u=16d+k-l ; rev index 128-u=128-16d-k+l
          v16 a=best,b=best;
          for(int k2=0;k2<16;k2+=2){a=vmax(a,vadd(bc(zs[k2]),ldu(nr-k2)));b=vmax(b,vadd(bc(zs[k2+1]),ldu(nr-k2-1)));}
          best=vmax(a,b);
#ifdef STATS
          st_eval++;
#endif
        }while(m1);
        mb=hmin(best);
      }}
#ifdef STATS
    st_chunk++;
#endif
    if(x+16<=NX)stu(out+x,best);else{float tmp[16];stu(tmp,best);memcpy(out+x,tmp,(NX-x)*4);}
  }}
// ---------- flat cutter: chords by power-of-two running maxima (Urbach-Wilkinson), ring of rows
static float*ring;static int RN,NLV,LN;
static void flat_strip(const Tab*T,float*out,const int*ys,int ny,int xa,int xb);
static void flat_full(const Tab*T,float*out,const int*ys,int ny){for(int xa=0;xa<NX;xa+=SW)flat_strip(T,out,ys,ny,xa,xa+SW<NX?xa+SW:NX);}
__attribute__((noinline)) static void flat_strip(const Tab*T,float*out,const int*ys,int ny,int xa,int xb){
  int n=T->vhi-T->vlo+1;int wmax=0;for(int v=0;v<n;v++)if(T->w[v]>wmax)wmax=T->w[v];
  NLV=1;while((1<<NLV)<=2*wmax+1)NLV++;LN=SW+2*PADX+64;RN=128;if(!ring)ring=amalloc((size_t)RN*8*LN*4);int len0=xb-xa+2*PADX;
  int filled=-100000;
  for(int i=0;i<ny;i++){int y=ys[i];int need=y+T->vhi;if(filled<y+T->vlo-1)filled=y+T->vlo-1;
    for(int r=filled+1;r<=need;r++){float*b=ring+(size_t)((r+1024)%RN)*8*LN;memcpy(b,P+(size_t)(r+PADY)*S+xa,len0*4);
      for(int l=1;l<NLV;l++){float*p=b+(size_t)(l-1)*LN,*q=b+(size_t)l*LN;int s=1<<(l-1);for(int x=0;x<len0-s;x+=16)stu(q+x,vmax(ldu(p+x),ldu(p+x+s)));}}
    filled=need;
    float*o=out+(size_t)i*NX+xa;
    for(int x=0;x<xb-xa;x+=64){v16 a0=bc(NEG),a1=a0,a2=a0,a3=a0;
      for(int v=0;v<n;v++){int w=T->w[v];if(w<0)continue;int len=2*w+1,l=31-__builtin_clz(len);const float*b=ring+(size_t)((y+T->vlo+v+1024)%RN)*8*LN+(size_t)l*LN+PADX+x;
        const float*p=b-w,*q=b+w+1-(1<<l);
        a0=vmax(a0,vmax(ldu(p),ldu(q)));a1=vmax(a1,vmax(ldu(p+16),ldu(q+16)));a2=vmax(a2,vmax(ldu(p+32),ldu(q+32)));a3=vmax(a3,vmax(ldu(p+48),ldu(q+48)));}
      float tmp[64];stu(tmp,a0);stu(tmp+16,a1);stu(tmp+32,a2);stu(tmp+48,a3);int m=xb-xa-x<64?xb-xa-x:64;memcpy(o+x,tmp,m*4);}
  }}
// ---------- flat by van Herk per chord, scalar (reference for the algorithmic comparison), one output row
static void vanherk_row(const float*z,int len,int win,float*g,float*hh,float*o){ // o[i]=max z[i..i+win-1]
  int m=len;for(int i=0;i<m;i++)g[i]=(i%win==0)?z[i]:(g[i-1]>z[i]?g[i-1]:z[i]);
  for(int i=m-1;i>=0;i--)hh[i]=(i==m-1||(i+1)%win==0)?z[i]:(hh[i+1]>z[i]?hh[i+1]:z[i]);
  for(int i=0;i+win<=m;i++){float a=hh[i],b=g[i+win-1];o[i]=a>b?a:b;}}
__attribute__((noinline)) static void flat_vh_row(const Tab*T,int y,float*out){int n=T->vhi-T->vlo+1;static float g[8192],hh[8192],o[8192];
  for(int x=0;x<NX;x++)out[x]=NEG;
  for(int v=0;v<n;v++){int w=T->w[v];if(w<0)continue;const float*z=row(y+T->vlo+v)-w;vanherk_row(z,NX+2*w,2*w+1,g,hh,o);for(int x=0;x<NX;x++)if(o[x]>out[x])out[x]=o[x];}}
// ---------- ball: equal-radius circle upper envelope per row offset (stack, O(n) per row offset); rows v and -v merged by max first (integer rows only)
__attribute__((noinline,optimize("no-tree-vectorize"))) static void env_row(Tool T,int y,float*out){
  static float f[8192];static int st[8192];static float br[8192];float R=T.R;int len=NX+2*K;
  for(int x=0;x<NX;x++)out[x]=NEG;
  for(int v=0;v<=K;v++){float rho2=R*R-(v*h)*(v*h);if(rho2<0)rho2=0;float rho=sqrtf(rho2);const float*a=row(y+v)-K,*b=row(y-v)-K;
    for(int i=0;i<len;i++)f[i]=a[i]>b[i]?a[i]:b[i];
    if(rho<h){for(int x=0;x<NX;x++){float q=f[x+K]-R;if(q+rho>out[x])out[x]=q+rho;}continue;}
    int top=0;st[0]=0;br[0]=-1e9f;
    for(int j=1;j<len;j++){float zj=f[j];float s;
      for(;;){int i=st[top];float dx=(j-i)*h,dz=zj-f[i];
        // crossing abscissa of the upper arcs (clamped to the support)
        float d2=dx*dx+dz*dz;float xi=i*h,xj=j*h;
        if(dx>=2*rho||d2>=4*rho2){ s=dz>0? xj-rho: xi+rho; }
        else{float hh2=sqrtf((rho2-d2*0.25f)/d2);s=0.5f*(xi+xj)-dz*hh2;
          float lo=xj-rho,hi=xi+rho; // crossing must lie on both upper arcs
          float zc=0.5f*(f[i]+zj)+dx*hh2; if(zc<zj)s=lo; else if(zc<f[i])s=hi; if(s<lo)s=lo;if(s>hi)s=hi;}
        if(top>0&&s<=br[top])top--;else break;}
      if(top==0&&s<=-1e8f){st[0]=j;}else{top++;st[top]=j;br[top]=s;}
    }
    int k=0;for(int x=0;x<NX;x++){float X=(x+K)*h;while(k<top&&br[k+1]<=X)k++;float du=X-st[k]*h;float q=rho2-du*du;float val=f[st[k]]+(q>0?sqrtf(q):(q>-1e-3f?0:NEG))-R;if(val>out[x])out[x]=val;}
  }}
static double maxdiff(const float*a,const float*b,int n,double*mean){double m=0,s=0;for(int i=0;i<n;i++){double d=fabs(a[i]-b[i]);if(d>m)m=d;s+=d;}if(mean)*mean=s/n;return m;}
int main(int argc,char**argv){const char*file=argc>1?argv[1]:"neck.bin";float Rm=4;
  if(getenv("SW"))SW=atoi(getenv("SW"));if(argc>5){NX=atoi(argv[2]);NY=atoi(argv[3]);h=atof(argv[4]);Rm=atof(argv[5]);}
  K=(int)floor(Rm/h+1e-3);float*Z=load_f32(file,(size_t)NX*NY);
  S=((NX+2*PADX+15)/16)*16;int PR=NY+2*PADY;P=amalloc(((size_t)S*PR+256)*4);
  for(size_t i=0;i<(size_t)S*PR;i++)P[i]=NEG;for(int y=0;y<NY;y++)memcpy(row(y),Z+(size_t)y*NX,NX*4);
  float*out=amalloc((size_t)NX*NY*4+256),*ref=amalloc((size_t)NX*64*4+256);
  BEST(3,tp,pyramid());printf("%s  pyramid %.2f ms\n",file,tp);
  float*cpy=amalloc((size_t)NX*NY*4);BEST(5,tc,memcpy(cpy,Z,(size_t)NX*NY*4));printf("map memcpy %.2f ms\n",tc);
  int quick=getenv("QUICK")!=NULL; /* branch and bound only, no references */
  int npass=440;int*py=malloc(npass*4);float*pf=malloc(npass*4);for(int i=0;i<npass;i++){float yy=i*2.5f;py[i]=(int)yy;pf[i]=yy-py[i];}
  Tool tools[3]={{0,Rm,0},{1,Rm,0},{2,Rm,1.0f}};const char*nm[3]={"ball","flat","bull"};
  for(int k=0;k<3;k++){Tool T=tools[k];Tab t0=mktab(T,0),t5=mktab(T,0.5f);BB b0=mkbb(t0),b5=mkbb(t5);
    long taps=0;for(int v=0;v<=t0.vhi-t0.vlo;v++)if(t0.w[v]>=0)taps+=2*t0.w[v]+1;
    int rows=11;if(!quick){BEST(2,tb,for(int i=0;i<rows;i++)brute_row(&t0,i*100,ref+(size_t)i*NX,0,NX));
    printf("%s taps %ld: brute AVX %.1f ms/row-> full %.0f ms, passes %.0f ms (%.1f ns/sample)\n",nm[k],taps,tb/rows,tb/rows*NY,tb/rows*npass,tb/rows/NX*1e6);
    volatile float sk;BEST(1,ts,for(int i=0;i<2000;i++)sk=brute_pt(&t0,(i*97)%NX,(i*131)%NY));(void)sk;printf("   brute scalar C %.0f ns/sample -> full %.0f ms\n",ts/2000*1e6,ts/2000*NX*NY);
    if(k==1){int*ys=malloc(NY*4);for(int i=0;i<NY;i++)ys[i]=i;BEST(3,tf,flat_full(&t0,out,ys,NY));double md=0;for(int i=0;i<rows;i++){double d=maxdiff(out+(size_t)i*100*NX,ref+(size_t)i*NX,NX,0);if(d>md)md=d;}
      printf("   flat pow2-chords full %.1f ms (%.2f ns/sample) maxdiff vs brute %g\n",tf,tf/NX/NY*1e6,md);
      // passes: two phases
      int*ya=malloc(220*4),*yb=malloc(220*4);for(int i=0;i<220;i++){ya[i]=i*5;yb[i]=i*5+2;}
      BEST(3,tf2,flat_full(&t0,out,ya,220);flat_full(&t5,out+(size_t)220*NX,yb,220));printf("   flat pow2-chords 440 passes %.1f ms (%.2f ns/sample)\n",tf2,tf2/NX/440*1e6);
      BEST(1,tv,for(int i=0;i<rows;i++)flat_vh_row(&t0,i*100,out+(size_t)i*NX));printf("   flat van Herk/chord %.2f ms/row -> full %.0f ms (%.1f ns/sample) diff %g\n",tv/rows,tv/rows*NY,tv/rows/NX*1e6,maxdiff(out,ref,rows*NX,0));}
    if(k==0){BEST(1,te,for(int i=0;i<rows;i++)env_row(T,i*100,out+(size_t)i*NX));double mean;double md=maxdiff(out,ref,rows*NX,&mean);printf("   ball circle-envelope scalar %.1f ms/row -> full %.0f ms (%.0f ns/sample) maxdiff %g mean %g\n",te/rows,te/rows*NY,te/rows/NX*1e6,md,mean);}}
    st_eval=st_chunk=0;
    BEST(3,tbb,for(int xa=0;xa<NX;xa+=SW){int xb=xa+SW<NX?xa+SW:NX;for(int y=0;y<NY;y++)bb_row(&b0,y,out+(size_t)y*NX,xa,xb);});double md=0;for(int i=0;i<rows&&!quick;i++){double d=maxdiff(out+(size_t)i*100*NX,ref+(size_t)i*NX,NX,0);if(d>md)md=d;}
    printf("   B&B full %.1f ms (%.2f ns/sample) maxdiff %g",tbb,tbb/NX/NY*1e6,md);if(st_chunk)printf("  evals/chunk %.1f (x16)",(double)st_eval/st_chunk);printf("\n");
    st_eval=st_chunk=0;
    BEST(3,tb2,for(int xa=0;xa<NX;xa+=SW){int xb=xa+SW<NX?xa+SW:NX;for(int i=0;i<npass;i++)bb_row(i&1?&b5:&b0,py[i],out+(size_t)i*NX,xa,xb);});
    double cs=0;for(size_t i=0;i<(size_t)npass*NX;i++)cs+=out[i];
    printf("   B&B 440 passes %.1f ms (%.2f ns/sample)  = %.1f x map copy, mean %.9f",tb2,tb2/NX/npass*1e6,tb2/tc,cs/NX/npass);if(st_chunk)printf("  evals/chunk %.1f (x16)",(double)st_eval/st_chunk);printf("\n");
  }}
